//! Tells on the terminal what the bakery is about to do, and what the service makes of it.

use std::collections::HashMap;
use std::io::Write;
use std::time::Duration;

use alert::Alert;
use anyhow::Result;
use bakehouse::{Event, EventKind};
use chrono::{DateTime, TimeDelta, Utc};
use reading::{Plant, Timestamp};
use store::{AlertQuery, Store};

use crate::commands::write_figures;

/// Events foretold.
const FORETOLD: TimeDelta = TimeDelta::hours(4);

/// What will happen, so that a viewer knows what to wait for.
pub(super) fn foretell(events: &[Event], start: DateTime<Utc>, speed: f64) -> Vec<String> {
    let soon = events.iter().filter(|event| event.began >= start && event.began < start + FORETOLD);
    let rises = soon.filter(|event| matches!(event.kind, EventKind::Rise | EventKind::Creep));
    let mut told: Vec<_> = rises
        .map(|event| {
            let seconds = (event.began - start).as_seconds_f64() / speed;
            let how = event.how.as_deref().unwrap_or("");
            let size = event.size_pct.unwrap_or(0.0);
            (event.began, format!("in {seconds:>4.0} s  {}: band {size:+.0} %, {how}", event.line))
        })
        .collect();
    told.sort();
    told.into_iter().map(|(_, line)| line).collect()
}

/// Prints each alert when it is raised and when it ends; never ends by itself.
pub(super) async fn tell(store: &Store, plant: &Plant, since: Timestamp, out: &mut dyn Write) -> Result<()> {
    let mut told: HashMap<String, bool> = HashMap::new();
    let query = AlertQuery { from: Some(since), ..AlertQuery::default() };
    loop {
        for record in store.alerts(&query)? {
            let ended = record.ended.is_some();
            if told.get(&record.id) == Some(&ended) {
                continue;
            }
            let alert: Alert = serde_json::from_str(&record.json)?;
            if told.insert(record.id, ended).is_none() {
                raised(&alert, plant, out)?;
            }
            if ended {
                ended_line(&alert, plant, out)?;
            }
            out.flush()?;
        }
        tokio::time::sleep(Duration::from_millis(200)).await;
    }
}

fn raised(alert: &Alert, plant: &Plant, out: &mut dyn Write) -> Result<()> {
    let at = plant.shifts.wall_clock(alert.raised);
    let product = alert.product.as_deref().unwrap_or("");
    writeln!(out, "{at}  ALERT  {} {product}  {}", alert.line, alert.finding.name())?;
    writeln!(out, "       {}", alert.message)?;
    write_figures(alert, out)?;
    writeln!(out)?;
    Ok(())
}

fn ended_line(alert: &Alert, plant: &Plant, out: &mut dyn Write) -> Result<()> {
    let at = alert.ended.map(|time| plant.shifts.wall_clock(time)).unwrap_or_default();
    writeln!(out, "{at}  ended  {} {}\n", alert.line, alert.finding.name())?;
    Ok(())
}

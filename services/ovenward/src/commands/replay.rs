//! `ovenward replay`: detection in event time over history, by the same path as the service.

mod explanation;
mod source;

use std::collections::BTreeMap;
use std::io::Write;
use std::path::PathBuf;
use std::sync::Arc;

use alert::{Alert, Event, LineEvent, Watch};
use clap::{Args, ValueEnum};
use reading::Timestamp;

use crate::cli::Period;
use crate::config::Settings;
use crate::failure::Failure;
use crate::normal_files::NormalFiles;
use source::Source;

/// What to replay.
#[derive(Debug, Args)]
pub struct ReplayArguments {
    /// Files instead of the store: CSV or Parquet, as for `backfill`.
    #[arg(value_name = "FILE", conflicts_with_all = ["from", "to"])]
    files: Vec<PathBuf>,
    #[command(flatten)]
    period: Period,
    /// Show the evidence of this alert instead: its id or the beginning of it. Without --from and
    /// --to, history is replayed from half a day before the alert to half a day after it.
    #[arg(long, value_name = "ALERT")]
    explain: Option<String>,
    /// How alerts are printed.
    #[arg(long, value_enum, default_value_t = ReplayFormat::Table)]
    format: ReplayFormat,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ReplayFormat {
    /// For people.
    Table,
    /// One alert a line as JSON.
    Jsonl,
}

/// Replays history and prints the alerts it raises.
///
/// # Errors
/// Files or store cannot be read, or hold nothing.
pub fn replay(settings: &Settings, arguments: &ReplayArguments, out: &mut dyn Write) -> Result<(), Failure> {
    if let Some(id) = &arguments.explain {
        return explanation::explain(settings, arguments, id, out);
    }
    let plant = Arc::new(settings.plant.clone());
    let normals = NormalFiles::new(&settings.data_dir).approved(&plant)?;
    let mut watch = Watch::new(plant, normals, settings.detection);
    let mut alerts = BTreeMap::new();
    let mut count: u64 = 0;
    let (from, to) = arguments.period.ends(settings)?;
    Source::open(settings, &arguments.files)?.each(None, from, to, &mut |reading| {
        count += 1;
        keep(&mut alerts, watch.push(reading));
    })?;
    keep(&mut alerts, watch.finish());
    if count == 0 {
        return Err(Failure::NoData("there are no readings to replay".into()));
    }
    tracing::info!(readings = count, late = watch.late(), alerts = alerts.len(), "replayed");
    match arguments.format {
        ReplayFormat::Table => print_table(alerts.values(), out)?,
        ReplayFormat::Jsonl => {
            for alert in alerts.values() {
                writeln!(out, "{}", serde_json::to_string(alert).map_err(anyhow::Error::from)?)?;
            }
        }
    }
    Ok(())
}

/// Alerts as they stand at the end, in the order in which they were raised.
fn keep(alerts: &mut BTreeMap<(Timestamp, String), Alert>, events: Vec<Event>) {
    for event in events {
        match event.what {
            LineEvent::Raised(alert) | LineEvent::Ended(alert) => {
                alerts.insert((alert.raised, alert.id.clone()), *alert);
            }
            LineEvent::Load(_) => {}
        }
    }
}

/// A line and its message for each alert.
pub(super) fn print_table<'a>(alerts: impl Iterator<Item = &'a Alert>, out: &mut dyn Write) -> Result<(), Failure> {
    for alert in alerts {
        let ended = alert.ended.map_or_else(|| "stands".to_owned(), |ended| format!("ended {ended}"));
        writeln!(
            out,
            "{}  {:<10} {:<10} {:<22} {}  {}  {}",
            alert.raised,
            alert.line,
            alert.product.as_deref().unwrap_or("-"),
            alert.finding.name(),
            alert.state.name(),
            ended,
            alert.id
        )?;
        writeln!(out, "    {}", alert.message)?;
    }
    Ok(())
}

//! `ovenward replay`: detection in event time over history, by the same path as the service.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::PathBuf;
use std::sync::Arc;

use alert::{Alert, Event, LineEvent, Watch};
use clap::{Args, ValueEnum};
use reading::{Reading, Span, Timestamp};
use store::Store;

use crate::cli::Period;
use crate::config::Settings;
use crate::failure::Failure;
use crate::history;
use crate::normal_files::NormalFiles;
use crate::service::PlantClock;

/// What to replay.
#[derive(Debug, Args)]
pub struct ReplayArguments {
    /// Files instead of the store: CSV or Parquet, as for `backfill`.
    #[arg(value_name = "FILE", conflicts_with_all = ["from", "to"])]
    files: Vec<PathBuf>,
    #[command(flatten)]
    period: Period,
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
    let plant = Arc::new(settings.plant.clone());
    let normals = NormalFiles::new(&settings.data_dir).approved(&plant)?;
    let mut watch = Watch::new(plant, normals, settings.detection);
    let mut alerts = BTreeMap::new();
    let mut count: u64 = 0;
    let mut take = |watch: &mut Watch, reading: &Reading| {
        count += 1;
        keep(&mut alerts, watch.push(reading));
    };
    if arguments.files.is_empty() {
        let store = Store::open(&settings.data_dir, &settings.plant)?;
        let (from, to) = arguments.period.ends(settings)?;
        let (first, last) = store.span()?.unwrap_or((Timestamp(0), Timestamp(0)));
        for stretch in store.readings(None, from.unwrap_or(first), to.unwrap_or(last + Span(1))) {
            for reading in stretch? {
                take(&mut watch, &reading);
            }
        }
    } else {
        for reading in sorted_readings(settings, &arguments.files)? {
            take(&mut watch, &reading);
        }
    }
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

/// Every readable row of the files, in order of time; what is not readable is counted in the log.
fn sorted_readings(settings: &Settings, files: &[PathBuf]) -> Result<Vec<Reading>, Failure> {
    let now = PlantClock::Machine.now();
    let mut readings = Vec::new();
    for file in files {
        let mut rejected = 0_u64;
        for row in history::rows(file)? {
            match history::reading(&row?, &settings.plant.signals, now) {
                Ok(reading) => readings.push(reading),
                Err(reason) => {
                    if rejected == 0 {
                        tracing::warn!("{}: {reason}", file.display());
                    }
                    rejected += 1;
                }
            }
        }
        if rejected > 0 {
            tracing::warn!("{}: {rejected} rows left out; `ovenward backfill` writes down why", file.display());
        }
    }
    readings.sort_by_key(|reading| (reading.time, reading.signal));
    readings.dedup_by_key(|reading| (reading.time, reading.signal));
    Ok(readings)
}

/// A line and its message for each alert.
pub(super) fn print_table<'a>(alerts: impl Iterator<Item = &'a Alert>, out: &mut dyn Write) -> Result<(), Failure> {
    for alert in alerts {
        let ended = alert.ended.map_or_else(|| "stands".to_owned(), |ended| format!("ended {ended}"));
        writeln!(
            out,
            "{}  {:<10} {:<10} {:<22} {}  {}",
            alert.raised,
            alert.line,
            alert.product.as_deref().unwrap_or("-"),
            alert.finding.name(),
            alert.state.name(),
            ended
        )?;
        writeln!(out, "    {}", alert.message)?;
    }
    Ok(())
}

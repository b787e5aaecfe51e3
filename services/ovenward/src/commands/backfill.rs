//! `ovenward backfill`: history from files into the store.

use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use anyhow::Context;
use indicatif::{ProgressBar, ProgressStyle};
use reading::Reading;
use store::Store;

use crate::config::Settings;
use crate::failure::Failure;
use crate::history::{self, Row};
use crate::service::PlantClock;

/// Rows handed to the store at a time.
const CHUNK: usize = 200_000;

/// What became of the rows of a file.
#[derive(Debug, Default)]
struct Report {
    stored: usize,
    already_there: usize,
    rejected: usize,
}

/// Loads files into the store, and reports for each what became of its rows.
///
/// # Errors
/// A file cannot be read, or the store cannot be written.
pub fn backfill(settings: &Settings, files: &[PathBuf], out: &mut dyn Write) -> Result<(), Failure> {
    let store = Store::open(&settings.data_dir, &Arc::new(settings.plant.clone()))?;
    for file in files {
        let report = load(settings, &store, file)?;
        let Report { stored, already_there, rejected } = report;
        writeln!(out, "{}: {stored} rows stored, {already_there} already there, {rejected} rejected", file.display())?;
        if rejected > 0 {
            writeln!(out, "  the rejected rows stand in {} with the reasons", rejected_path(file).display())?;
        }
    }
    Ok(())
}

fn load(settings: &Settings, store: &Store, file: &Path) -> Result<Report, Failure> {
    let now = PlantClock::Machine.now();
    let mut report = Report::default();
    let mut rejected = None;
    let mut chunk: Vec<Reading> = Vec::with_capacity(CHUNK);
    let progress = progress();
    for row in history::rows(file)? {
        let row = row.with_context(|| format!("cannot read {} any further", file.display()))?;
        match history::reading(&row, &settings.plant.signals, now) {
            Ok(reading) => chunk.push(reading),
            Err(reason) => {
                reject(&mut rejected, file, &row, &reason)?;
                report.rejected += 1;
            }
        }
        if chunk.len() == CHUNK {
            store_chunk(store, &mut chunk, &mut report)?;
            progress.set_message(format!("{} rows", report.stored + report.already_there));
        }
    }
    store_chunk(store, &mut chunk, &mut report)?;
    store.seal(now)?;
    if let Some(mut rejected) = rejected {
        rejected.flush()?;
    }
    progress.finish_and_clear();
    Ok(report)
}

fn store_chunk(store: &Store, chunk: &mut Vec<Reading>, report: &mut Report) -> Result<(), Failure> {
    let committed = store.load(chunk)?;
    report.stored += committed.stored;
    report.already_there += committed.already_there;
    chunk.clear();
    Ok(())
}

fn reject(rejected: &mut Option<csv::Writer<File>>, file: &Path, row: &Row, reason: &str) -> Result<(), Failure> {
    if rejected.is_none() {
        let path = rejected_path(file);
        let mut writer = csv::Writer::from_path(&path).with_context(|| format!("cannot write {}", path.display()))?;
        writer.write_record(["time", "tag", "value", "quality", "row", "reason"])?;
        *rejected = Some(writer);
    }
    if let Some(writer) = rejected {
        let quality = row.quality.as_deref().unwrap_or_default();
        writer.write_record([&*row.time, &*row.tag, &*row.value, quality, &*row.place.to_string(), reason])?;
    }
    Ok(())
}

fn rejected_path(file: &Path) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push(".rejected.csv");
    name.into()
}

/// A spinner on a terminal, nothing elsewhere.
fn progress() -> ProgressBar {
    let style =
        ProgressStyle::with_template("{spinner} {elapsed} {msg}").unwrap_or_else(|_| ProgressStyle::default_spinner());
    let bar = ProgressBar::new_spinner().with_style(style);
    bar.enable_steady_tick(Duration::from_millis(200));
    bar
}

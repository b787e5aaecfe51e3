//! `ovenward backfill`: history from files, or from a historian's database, into the store.

mod historian;
mod load;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use anyhow::Context;
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use store::Store;

use self::historian::HistorianArguments;
use self::load::Load;
use crate::config::Settings;
use crate::failure::Failure;
use crate::history;

/// Where history comes from.
#[derive(Debug, Args)]
pub struct BackfillArguments {
    /// CSV (time,tag,value[,quality]) or Parquet with the same columns.
    #[arg(required_unless_present = "sql", conflicts_with = "sql", value_name = "FILE")]
    files: Vec<PathBuf>,
    #[command(flatten)]
    historian: HistorianArguments,
}

/// Loads history into the store, and reports what became of its rows.
///
/// # Errors
/// A file or the historian cannot be read, or the store cannot be written.
pub fn backfill(settings: &Settings, arguments: &BackfillArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let store = Store::open(&settings.data_dir, &Arc::new(settings.plant.clone()))?;
    if arguments.historian.is_asked()? {
        return historian::load(settings, &store, &arguments.historian, out);
    }
    for file in &arguments.files {
        let mut name = file.as_os_str().to_owned();
        name.push(".rejected.csv");
        let mut load = Load::begin(settings, &store, name.into());
        from_file(&mut load, file)?;
        load.finish(&file.display().to_string(), out)?;
    }
    Ok(())
}

fn from_file(load: &mut Load<'_>, file: &Path) -> Result<(), Failure> {
    let progress = spinner();
    for row in history::rows(file)? {
        let row = row.with_context(|| format!("cannot read {} any further", file.display()))?;
        load.take(&row)?;
        if load.is_empty() {
            progress.set_message(format!("{} rows", load.stored()));
        }
    }
    progress.finish_and_clear();
    Ok(())
}

/// A spinner on a terminal, nothing elsewhere.
fn spinner() -> ProgressBar {
    let style =
        ProgressStyle::with_template("{spinner} {elapsed} {msg}").unwrap_or_else(|_| ProgressStyle::default_spinner());
    let bar = ProgressBar::new_spinner().with_style(style);
    bar.enable_steady_tick(Duration::from_millis(200));
    bar
}

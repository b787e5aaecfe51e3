//! `ovenward store`: what is kept, whether it is whole, and a copy of it.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use reading::Timestamp;
use serde::Serialize;
use serde_json::json;
use store::{Finding, Gap, Store};

use super::TextOrJson;
use crate::backup::{Copied, back_up};
use crate::config::Settings;
use crate::failure::Failure;

/// What to do with the store.
#[derive(Debug, Args)]
pub struct StoreArguments {
    #[command(subcommand)]
    what: Option<StoreCommand>,
    /// How it is printed.
    #[arg(long, global = true, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

#[derive(Debug, Subcommand)]
enum StoreCommand {
    /// Look whether everything is as it was stored; put right what is safe, and name the rest.
    Verify,
    /// Copy the store and what stands beside it into a folder while the service runs; again copies only what is new of
    /// the store.
    Backup {
        /// The folder, of this copy alone.
        #[arg(value_name = "DIR")]
        to: PathBuf,
    },
}

/// Does what was asked with the store.
///
/// # Errors
/// The store cannot be read or copied, or it is not whole.
pub fn store(settings: &Settings, arguments: &StoreArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let store = Store::open(&settings.data_dir, &settings.plant)?;
    let text = arguments.format == TextOrJson::Text;
    match &arguments.what {
        None => {
            let summary = Summary::of(&store, &settings.data_dir)?;
            if text { summary.print(out) } else { print_json(&summary, out) }
        }
        Some(StoreCommand::Verify) => verify(&store, text, out),
        Some(StoreCommand::Backup { to }) => backup(&store, settings, to, text, out),
    }
}

/// What is kept.
#[derive(Debug, Serialize)]
struct Summary {
    folder: PathBuf,
    readings: u64,
    oldest: Option<Timestamp>,
    newest: Option<Timestamp>,
    hot_readings: u64,
    hot_bytes: u64,
    segments: usize,
    sealed_readings: u64,
    sealed_bytes: u64,
    bytes_per_sealed_reading: Option<f64>,
    free_bytes: Option<u64>,
    gaps: Vec<Gap>,
}

impl Summary {
    fn of(store: &Store, folder: &Path) -> Result<Self, Failure> {
        let Some((oldest, newest)) = store.span()? else {
            return Err(Failure::NoData(format!("the store in {} is empty", folder.display())));
        };
        let size = store.size()?;
        Ok(Self {
            folder: folder.to_owned(),
            readings: size.hot_readings + size.sealed_readings,
            oldest: Some(oldest),
            newest: Some(newest),
            hot_readings: size.hot_readings,
            hot_bytes: size.hot_bytes,
            segments: size.segments,
            sealed_readings: size.sealed_readings,
            sealed_bytes: size.sealed_bytes,
            bytes_per_sealed_reading: size.bytes_per_sealed_reading(),
            free_bytes: size.free_bytes,
            gaps: store.gaps(Timestamp(i64::MIN), Timestamp(i64::MAX))?,
        })
    }

    fn print(&self, out: &mut dyn Write) -> Result<(), Failure> {
        let time = |time: Option<Timestamp>| time.map(|time| time.to_string()).unwrap_or_default();
        writeln!(out, "{} readings in {}", self.readings, self.folder.display())?;
        writeln!(out, "  oldest      {}", time(self.oldest))?;
        writeln!(out, "  newest      {}", time(self.newest))?;
        writeln!(out, "  not sealed  {} readings, {}", self.hot_readings, megabytes(self.hot_bytes))?;
        let (segments, sealed) = (self.segments, self.sealed_readings);
        write!(out, "  sealed      {sealed} readings in {segments} segments, {}", megabytes(self.sealed_bytes))?;
        match self.bytes_per_sealed_reading {
            Some(bytes) => writeln!(out, ", {bytes:.2} bytes a reading")?,
            None => writeln!(out)?,
        }
        if let Some(free) = self.free_bytes {
            writeln!(out, "  room left   {}", megabytes(free))?;
        }
        if self.gaps.is_empty() {
            writeln!(out, "  gaps        none known")?;
        }
        for gap in &self.gaps {
            let lost = gap.lost.map(|lost| format!(", {lost} messages")).unwrap_or_default();
            writeln!(out, "  gap         {} to {}, {}{lost}", gap.began, gap.ended, gap.cause.name())?;
        }
        Ok(())
    }
}

fn verify(store: &Store, text: bool, out: &mut dyn Write) -> Result<(), Failure> {
    let mut findings = store.found_at_opening().to_vec();
    findings.extend(store.verify()?);
    let size = store.size()?;
    let left = findings.iter().filter(|finding| !finding.repaired).count();
    if text {
        for Finding { file, what, repaired } in &findings {
            let word = if *repaired { "put right" } else { "WRONG" };
            writeln!(out, "{word}: {}: {what}", file.display())?;
        }
        let (hot, sealed) = (size.hot_readings, size.sealed_readings);
        writeln!(out, "looked at {hot} readings in the database and {sealed} in {} segments", size.segments)?;
    } else {
        let looked_at = json!({ "hot_readings": size.hot_readings, "sealed_readings": size.sealed_readings, "segments": size.segments });
        print_json(&json!({ "whole": left == 0, "looked_at": looked_at, "findings": findings }), out)?;
    }
    if left > 0 {
        return Err(Failure::Failed(anyhow::anyhow!("{left} of the store's files are not what they should be")));
    }
    if text {
        writeln!(out, "the store is whole")?;
    }
    Ok(())
}

fn backup(store: &Store, settings: &Settings, to: &Path, text: bool, out: &mut dyn Write) -> Result<(), Failure> {
    let Copied { store: done, files } = back_up(store, &settings.data_dir, to)?;
    if text {
        let bytes = megabytes(done.bytes);
        writeln!(
            out,
            "copied to {}: the database, {} segments ({bytes}), {files} files beside them",
            to.display(),
            done.copied
        )?;
        writeln!(out, "removed {} segments that the store no longer has", done.removed)?;
        writeln!(out, "to look whether the copy is whole: ovenward --data-dir {} store verify", to.display())?;
        return Ok(());
    }
    print_json(
        &json!({ "to": to, "segments_copied": done.copied, "bytes_copied": done.bytes, "segments_removed": done.removed, "files_copied": files }),
        out,
    )
}

pub(super) fn print_json(value: &impl Serialize, out: &mut dyn Write) -> Result<(), Failure> {
    Ok(writeln!(out, "{}", serde_json::to_string_pretty(value)?)?)
}

pub(super) fn megabytes(bytes: u64) -> String {
    format!("{:.1} MB", bytes as f64 / 1e6)
}

//! `export`: readings, shift tables, alerts and energy records as open files, each with a dictionary of its columns.

mod columns;

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use alert::Alert;
use anyhow::Context;
use clap::{Args, ValueEnum};
use reading::{LineIndex, Reading, Span, Timestamp};
use shift_profile::ShiftProfileRow;
use store::{AlertQuery, Store};

pub(crate) use self::columns::ALERTS;
use self::columns::{READINGS, READINGS_CSV, SHIFTS, TaggedReading};
use crate::cli::Period;
use crate::config::Settings;
use crate::energy;
use crate::failure::Failure;
use crate::normal_files::NormalFiles;
use crate::stored;
use crate::table::{self, Column};

/// What is exported, and where to.
#[derive(Debug, Args)]
pub struct ExportArguments {
    /// What.
    #[arg(long, value_enum)]
    what: What,
    #[command(flatten)]
    period: Period,
    /// Only of this line.
    #[arg(long)]
    line: Option<String>,
    /// How the files are written.
    #[arg(long, value_enum, default_value_t = ExportFormat::Parquet)]
    format: ExportFormat,
    /// The folder that they are written into; made if it is not there.
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum What {
    /// A file for each line and day (UTC), as `backfill` takes them.
    Readings,
    /// Shift profile tables.
    Shifts,
    /// Alerts.
    Alerts,
    /// Energy records by shift.
    Energy,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ExportFormat {
    Parquet,
    Csv,
}

/// Writes the files, and prints what was written.
///
/// # Errors
/// An unknown line, nothing in the period, or a file cannot be written.
pub fn export(settings: &Settings, arguments: &ExportArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let lines = super::learn::lines(settings, arguments.line.as_deref())?;
    let store = Store::open(&settings.data_dir, &settings.plant)?;
    let (from, to) = arguments.period.ends(settings)?;
    let stored = store.span()?.ok_or_else(|| Failure::NoData("the store is empty".into()))?;
    let span = (from.unwrap_or(stored.0).max(stored.0), to.unwrap_or(stored.1 + Span(1)).min(stored.1 + Span(1)));
    fs::create_dir_all(&arguments.out).with_context(|| format!("cannot make {}", arguments.out.display()))?;
    let folder = Folder { path: &arguments.out, format: arguments.format };
    let export = Export { settings, store: &store, lines: &lines, span, folder: &folder };
    let rows = match arguments.what {
        What::Readings => export.readings(out)?,
        What::Shifts => export.shifts(out)?,
        What::Alerts => {
            let query = AlertQuery { from, to, line: arguments.line.clone(), state: None };
            let records = store.alerts(&query)?;
            let alerts = records.iter().map(|record| serde_json::from_str(&record.json));
            folder.write_all("alerts", ALERTS, &alerts.collect::<Result<Vec<Alert>, _>>()?, out)?
        }
        What::Energy => {
            let rows = super::energy::energy_rows(settings, &arguments.period, arguments.line.as_deref())?;
            folder.write_all("energy", energy::COLUMNS, &rows, out)?
        }
    };
    if rows == 0 { Err(Failure::NoData("there is nothing to export in the period asked for".into())) } else { Ok(()) }
}

/// Where files go, and how they are written.
struct Folder<'a> {
    path: &'a Path,
    format: ExportFormat,
}

impl Folder<'_> {
    fn create(&self, name: &str) -> Result<(PathBuf, BufWriter<File>), Failure> {
        let path = self.path.join(name);
        let file = File::create(&path).with_context(|| format!("cannot write {}", path.display()))?;
        Ok((path, BufWriter::new(file)))
    }

    fn end(&self) -> &'static str {
        match self.format {
            ExportFormat::Parquet => "parquet",
            ExportFormat::Csv => "csv",
        }
    }

    /// One table; gives how many rows it has. No file without rows.
    fn write<R>(&self, name: &str, columns: &[Column<R>], rows: &[R], out: &mut dyn Write) -> Result<usize, Failure> {
        if rows.is_empty() {
            return Ok(0);
        }
        let (path, mut file) = self.create(&format!("{name}.{}", self.end()))?;
        match self.format {
            ExportFormat::Parquet => table::write_parquet(columns, rows, &mut file)?,
            ExportFormat::Csv => table::write_csv(columns, rows, &mut file)?,
        }
        file.flush()?;
        writeln!(out, "{}: {} rows", path.display(), rows.len())?;
        Ok(rows.len())
    }

    /// One table with the dictionary of its columns beside it.
    fn write_all<R>(
        &self,
        name: &str,
        columns: &[Column<R>],
        rows: &[R],
        out: &mut dyn Write,
    ) -> Result<usize, Failure> {
        let written = self.write(name, columns, rows, out)?;
        if written > 0 {
            self.dictionary(name, |file| table::write_dictionary(columns, file))?;
        }
        Ok(written)
    }

    fn dictionary(&self, name: &str, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
        let (_, mut file) = self.create(&format!("{name}-columns.md"))?;
        write(&mut file)?;
        Ok(file.flush()?)
    }
}

const DAY: Span = Span::minutes(24 * 60);

/// What is exported of, and where to.
struct Export<'a> {
    settings: &'a Settings,
    store: &'a Store,
    lines: &'a [LineIndex],
    span: (Timestamp, Timestamp),
    folder: &'a Folder<'a>,
}

impl Export<'_> {
    fn readings(&self, out: &mut dyn Write) -> Result<usize, Failure> {
        let columns = if self.folder.format == ExportFormat::Csv { READINGS_CSV } else { READINGS };
        let mut written = 0;
        for &line in self.lines {
            let (mut starts, to) = (self.span.0.floor(DAY), self.span.1);
            while starts < to {
                let rows = self.tagged(line, starts.max(self.span.0), to.min(starts + DAY))?;
                let date = starts.to_utc().unwrap_or_default().date_naive();
                let name = format!("readings-{}-{date}", self.settings.plant.lines[line.0].id);
                written += self.folder.write(&name, columns, &rows, out)?;
                starts = starts + DAY;
            }
        }
        if written > 0 {
            self.folder.dictionary("readings", |file| table::write_dictionary(columns, file))?;
        }
        Ok(written)
    }

    fn tagged(&self, line: LineIndex, from: Timestamp, to: Timestamp) -> Result<Vec<TaggedReading>, Failure> {
        let signals = &self.settings.plant.signals;
        let tagged = |reading: Reading| TaggedReading { tag: signals.get(reading.signal).tag.clone(), reading };
        let mut rows = Vec::new();
        for stretch in self.store.readings(Some(line), from, to) {
            rows.extend(stretch?.into_iter().map(tagged));
        }
        Ok(rows)
    }

    fn shifts(&self, out: &mut dyn Write) -> Result<usize, Failure> {
        let plant = Arc::new(self.settings.plant.clone());
        let normals = NormalFiles::new(&self.settings.data_dir);
        let (from, to) = self.span;
        let mut rows: Vec<ShiftProfileRow> = Vec::new();
        for shift in if from < to { plant.shifts.between(from, to) } else { Vec::new() } {
            for &line in self.lines {
                let detection = &self.settings.detection;
                rows.extend(stored::shift_table(self.store, &normals, &plant, line, &shift, detection)?);
            }
        }
        if rows.is_empty() {
            return Ok(0);
        }
        let (path, mut file) = self.folder.create(&format!("shifts.{}", self.folder.end()))?;
        match self.folder.format {
            ExportFormat::Csv => shift_profile::write_csv(&rows, &mut file)?,
            ExportFormat::Parquet => shift_profile::write_parquet(&rows, &mut file)?,
        }
        file.flush()?;
        writeln!(out, "{}: {} rows", path.display(), rows.len())?;
        self.folder.dictionary("shifts", |file| table::write_entries(SHIFTS, file))?;
        Ok(rows.len())
    }
}

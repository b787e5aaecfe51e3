//! `export`: readings, shift tables, alerts and energy records as open files, each with a dictionary of its columns.

use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use alert::Alert;
use anyhow::Context;
use clap::{Args, ValueEnum};
use reading::{LineIndex, Plant, Quality, Reading, Span, Timestamp, Value};
use shift_profile::ShiftProfileRow;
use store::{AlertQuery, Store};

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
    let rows = match arguments.what {
        What::Readings => export_readings(settings, &store, &lines, span, &folder, out)?,
        What::Shifts => export_shifts(settings, &store, &lines, span, &folder, out)?,
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
            self.dictionary(name, columns)?;
        }
        Ok(written)
    }

    fn dictionary<R>(&self, name: &str, columns: &[Column<R>]) -> Result<(), Failure> {
        let (_, mut file) = self.create(&format!("{name}-columns.md"))?;
        table::write_dictionary(columns, &mut file)?;
        Ok(file.flush()?)
    }
}

/// A reading with the plant's own name for its signal.
struct TaggedReading {
    tag: Arc<str>,
    reading: Reading,
}

/// What a tag is.
const TAG: &str = "The MQTT topic, topic#pointer, or of Sparkplug GROUP/NODE/DEVICE#metric.";

/// As `backfill` takes them: a product code stands in `text`.
const READINGS: &[Column<TaggedReading>] = &[
    Column::time("time", "When it was measured.", |row| Some(row.reading.time)),
    Column::text("tag", TAG, |row| Some(row.tag.to_string())),
    Column::number("value", "as sent", "What the plant sent, before scale and unit.", |row| row.reading.value.number()),
    Column::text("text", "A text, such as a product code, in place of a number.", |row| match &row.reading.value {
        Value::Text(text) => Some(text.to_string()),
        Value::Number(_) => None,
    }),
    Column::count(
        "quality",
        "192 good, 64 uncertain, 0 bad: wrong, or none at all (then value is 0 or text empty).",
        |row| Some(i64::from(row.reading.quality.code())),
    ),
];

/// CSV has one column for numbers and texts, as `backfill` reads it.
const READINGS_CSV: &[Column<TaggedReading>] = &[
    Column::time("time", "When it was measured.", |row| Some(row.reading.time)),
    Column::text("tag", TAG, |row| Some(row.tag.to_string())),
    Column::text("value", "What the plant sent, before scale and unit.", |row| match &row.reading.value {
        Value::Text(text) => Some(text.to_string()),
        Value::Number(number) => Some(number.to_string()),
    }),
    Column::text("quality", "good, uncertain or bad: wrong, or none at all (then value is 0 or empty).", |row| {
        Some(match row.reading.quality {
            Quality::Good => "good".into(),
            Quality::Uncertain => "uncertain".into(),
            Quality::Bad => "bad".into(),
        })
    }),
];

const ALERTS: &[Column<Alert>] = &[
    Column::text("id", "ULID of the alert.", |alert| Some(alert.id.clone())),
    Column::text("site", "The site's id.", |alert| Some(alert.site.to_string())),
    Column::text("line", "The line's id.", |alert| Some(alert.line.to_string())),
    Column::text("kind", "What kind of event.", |alert| word(&alert.kind)),
    Column::text("finding", "What is wrong.", |alert| word(&alert.finding)),
    Column::text("priority", "How soon a person should look.", |alert| word(&alert.priority)),
    Column::text("state", "Where it stands: ISA-18.2 states.", |alert| word(&alert.state)),
    Column::text("product", "Code of the product in the oven.", |alert| alert.product.as_deref().map(str::to_owned)),
    Column::time("began", "When the cause began.", |alert| Some(alert.began)),
    Column::time("raised", "When the evidence sufficed.", |alert| Some(alert.raised)),
    Column::time("ended", "When the evidence was gone; empty while it stands.", |alert| alert.ended),
    Column::number(
        "confidence",
        "",
        "1 less the chance of such evidence without a cause; empty for a limit.",
        |alert| alert.confidence,
    ),
    Column::text("normal", "The normal it was held against.", |alert| alert.normal.clone()),
    Column::text("message", "What happened, in one sentence.", |alert| Some(alert.message.clone())),
];

/// The word by which a choice is written in JSON.
fn word(choice: &impl serde::Serialize) -> Option<String> {
    serde_json::to_value(choice).ok()?.as_str().map(str::to_owned)
}

const DAY: Span = Span::minutes(24 * 60);

fn export_readings(
    settings: &Settings,
    store: &Store,
    lines: &[LineIndex],
    (from, to): (Timestamp, Timestamp),
    folder: &Folder<'_>,
    out: &mut dyn Write,
) -> Result<usize, Failure> {
    let columns = if folder.format == ExportFormat::Csv { READINGS_CSV } else { READINGS };
    let mut written = 0;
    for &line in lines {
        let mut starts = from.floor(DAY);
        while starts < to {
            let (begin, end) = (starts.max(from), (starts + DAY).min(to));
            let rows = day_of_readings(&settings.plant, store, line, begin, end)?;
            let date = starts.to_utc().unwrap_or_default().date_naive();
            let name = format!("readings-{}-{date}", settings.plant.lines[line.0].id);
            written += folder.write(&name, columns, &rows, out)?;
            starts = starts + DAY;
        }
    }
    if written > 0 {
        folder.dictionary("readings", columns)?;
    }
    Ok(written)
}

fn day_of_readings(
    plant: &Plant,
    store: &Store,
    line: LineIndex,
    from: Timestamp,
    to: Timestamp,
) -> Result<Vec<TaggedReading>, Failure> {
    let mut rows = Vec::new();
    for stretch in store.readings(Some(line), from, to) {
        let tagged = |reading: Reading| TaggedReading { tag: plant.signals.get(reading.signal).tag.clone(), reading };
        rows.extend(stretch?.into_iter().map(tagged));
    }
    Ok(rows)
}

fn export_shifts(
    settings: &Settings,
    store: &Store,
    lines: &[LineIndex],
    (from, to): (Timestamp, Timestamp),
    folder: &Folder<'_>,
    out: &mut dyn Write,
) -> Result<usize, Failure> {
    let plant = Arc::new(settings.plant.clone());
    let normals = NormalFiles::new(&settings.data_dir);
    let mut rows: Vec<ShiftProfileRow> = Vec::new();
    let shifts = if from < to { plant.shifts.between(from, to) } else { Vec::new() };
    for shift in shifts {
        for &line in lines {
            rows.extend(stored::shift_table(store, &normals, &plant, line, &shift, &settings.detection)?);
        }
    }
    if rows.is_empty() {
        return Ok(0);
    }
    let (path, mut file) = folder.create(&format!("shifts.{}", folder.end()))?;
    match folder.format {
        ExportFormat::Csv => shift_profile::write_csv(&rows, &mut file)?,
        ExportFormat::Parquet => shift_profile::write_parquet(&rows, &mut file)?,
    }
    file.flush()?;
    writeln!(out, "{}: {} rows", path.display(), rows.len())?;
    Ok(rows.len())
}

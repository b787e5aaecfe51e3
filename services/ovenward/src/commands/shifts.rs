//! `ovenward shifts`: shift profile tables.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::PathBuf;
use std::sync::Arc;

use anyhow::Context;
use chrono::NaiveDate;
use clap::{Args, ValueEnum};
use reading::{ShiftInstance, Span};
use shift_profile::ShiftProfileRow;
use store::Store;

use crate::cli::Period;
use crate::config::Settings;
use crate::failure::Failure;
use crate::normal_files::NormalFiles;
use crate::stored;

/// Which tables.
#[derive(Debug, Args)]
pub struct ShiftsArguments {
    /// Only of this line.
    #[arg(long)]
    line: Option<String>,
    /// The shifts that began on this local date.
    #[arg(long, conflicts_with_all = ["from", "to"], value_name = "YYYY-MM-DD")]
    date: Option<NaiveDate>,
    /// Only the shift of this name.
    #[arg(long)]
    shift: Option<String>,
    #[command(flatten)]
    period: Period,
    /// How they are written.
    #[arg(long, value_enum, default_value_t = ShiftsFormat::Text)]
    format: ShiftsFormat,
    /// Into this file instead of stdout.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ShiftsFormat {
    Text,
    Csv,
    Json,
    Parquet,
    Html,
}

/// Writes the tables asked for; without a date or period, those of everything stored.
///
/// # Errors
/// An unknown line or shift, nothing baked in the period, or the store cannot be read.
pub fn shifts(settings: &Settings, arguments: &ShiftsArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let plant = Arc::new(settings.plant.clone());
    let lines = super::learn::lines(settings, arguments.line.as_deref())?;
    let store = Store::open(&settings.data_dir, &plant)?;
    let normals = NormalFiles::new(&settings.data_dir);
    let mut rows: Vec<ShiftProfileRow> = Vec::new();
    for shift in wanted(settings, arguments, &store)? {
        for &line in &lines {
            rows.extend(stored::shift_table(&store, &normals, &plant, line, &shift, &settings.detection)?);
        }
    }
    if rows.is_empty() {
        return Err(Failure::NoData("nothing was baked in the shifts asked for".into()));
    }
    match &arguments.out {
        None => write(&rows, arguments.format, out),
        Some(path) => {
            let file = File::create(path).with_context(|| format!("cannot write {}", path.display()))?;
            let mut file = BufWriter::new(file);
            write(&rows, arguments.format, &mut file)?;
            Ok(file.flush()?)
        }
    }
}

fn wanted(settings: &Settings, arguments: &ShiftsArguments, store: &Store) -> Result<Vec<ShiftInstance>, Failure> {
    let calendar = &settings.plant.shifts;
    if let Some(name) = &arguments.shift
        && !calendar.names().any(|known| **known == **name)
    {
        let known: Vec<&str> = calendar.names().map(|name| &**name).collect();
        return Err(Failure::usage(format!("there is no shift {name:?}; write one of {}", known.join(", "))));
    }
    let mut shifts = match arguments.date {
        Some(date) => calendar.on(date),
        None => {
            let (from, to) = arguments.period.ends(settings)?;
            let stored = store.span()?.ok_or_else(|| Failure::NoData("the store is empty".into()))?;
            calendar.between(from.unwrap_or(stored.0), to.unwrap_or(stored.1 + Span(1)))
        }
    };
    shifts.retain(|shift| arguments.shift.as_deref().is_none_or(|name| *shift.name == *name));
    Ok(shifts)
}

fn write(rows: &[ShiftProfileRow], format: ShiftsFormat, out: &mut dyn Write) -> Result<(), Failure> {
    match format {
        ShiftsFormat::Text => shift_profile::write_text(rows, out)?,
        ShiftsFormat::Csv => shift_profile::write_csv(rows, out)?,
        ShiftsFormat::Json => shift_profile::write_json(rows, out)?,
        ShiftsFormat::Parquet => {
            // The writer of Parquet wants something it may send to a thread.
            let mut bytes = Vec::new();
            shift_profile::write_parquet(rows, &mut bytes)?;
            out.write_all(&bytes)?;
        }
        ShiftsFormat::Html => shift_profile::write_html(rows, out)?,
    }
    Ok(())
}

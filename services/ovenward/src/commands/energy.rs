//! `energy`: what lines used, what they made of it, and whether that is less than before.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::PathBuf;
use std::sync::Arc;

use anyhow::Context;
use chrono::NaiveDate;
use clap::{Args, ValueEnum};
use reading::{ShiftInstance, Span};
use store::Store;

use crate::cli::Period;
use crate::config::Settings;
use crate::energy::{Account, Books, By, COLUMNS, EnergyRow, shifts_of, write_text};
use crate::failure::Failure;
use crate::table;

/// Which records.
#[derive(Debug, Args)]
pub struct EnergyArguments {
    #[command(flatten)]
    period: Period,
    /// Only of this line.
    #[arg(long)]
    line: Option<String>,
    /// A record for each of these.
    #[arg(long, value_enum, default_value_t = By::Shift)]
    by: By,
    /// The first local date of the baseline period, instead of [energy] `baseline_from`.
    #[arg(long, value_name = "YYYY-MM-DD", requires = "baseline_to")]
    baseline_from: Option<NaiveDate>,
    /// The local date before which the baseline period ends, instead of [energy] `baseline_to`.
    #[arg(long, value_name = "YYYY-MM-DD", requires = "baseline_from")]
    baseline_to: Option<NaiveDate>,
    /// How they are written.
    #[arg(long, value_enum, default_value_t = EnergyFormat::Text)]
    format: EnergyFormat,
    /// Into this file instead of stdout.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Print what every column means, as a table in Markdown, and no records.
    #[arg(long)]
    dictionary: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum EnergyFormat {
    /// For people, with the baseline in words.
    Text,
    Csv,
    Json,
    Parquet,
}

/// Writes the records asked for; without a period, those of everything stored.
///
/// # Errors
/// An unknown line, no reading in the period, or the store cannot be read.
pub fn energy(settings: &Settings, arguments: &EnergyArguments, out: &mut dyn Write) -> Result<(), Failure> {
    if arguments.dictionary {
        return Ok(table::write_dictionary(COLUMNS, out)?);
    }
    let accounts = accounts(settings, arguments)?;
    match &arguments.out {
        None => write(&accounts, settings, arguments, out),
        Some(path) => {
            let file = File::create(path).with_context(|| format!("cannot write {}", path.display()))?;
            let mut file = BufWriter::new(file);
            write(&accounts, settings, arguments, &mut file)?;
            Ok(file.flush()?)
        }
    }
}

/// The rows of every line in a period, shift by shift, without a baseline.
pub(super) fn energy_rows(settings: &Settings, period: &Period, only: Option<&str>) -> Result<Vec<EnergyRow>, Failure> {
    let plant = Arc::new(settings.plant.clone());
    let store = Store::open(&settings.data_dir, &plant)?;
    let shifts = shifts(&store, settings, period)?;
    let books = Books::open(&store, &plant, settings)?;
    let mut rows = Vec::new();
    for line in super::learn::lines(settings, only)? {
        let account = books.account(line, &shifts, None, By::Shift)?;
        rows.extend(account.into_iter().flat_map(|account| account.rows));
    }
    Ok(rows)
}

fn accounts(settings: &Settings, arguments: &EnergyArguments) -> Result<Vec<Account>, Failure> {
    let lines = super::learn::lines(settings, arguments.line.as_deref())?;
    let plant = Arc::new(settings.plant.clone());
    let store = Store::open(&settings.data_dir, &plant)?;
    let shifts = shifts(&store, settings, &arguments.period)?;
    let books = Books::open(&store, &plant, settings)?;
    let asked = arguments.baseline_from.zip(arguments.baseline_to);
    let baseline = asked.or(settings.energy.baseline).map(|period| shifts_of(&settings.plant.shifts, period));
    let mut accounts = Vec::new();
    for line in lines {
        accounts.extend(books.account(line, &shifts, baseline.as_deref(), arguments.by)?);
    }
    if accounts.is_empty() {
        return Err(Failure::NoData("nothing was measured in the period asked for".into()));
    }
    Ok(accounts)
}

/// The shifts of a period; of everything stored without its ends.
fn shifts(store: &Store, settings: &Settings, period: &Period) -> Result<Vec<ShiftInstance>, Failure> {
    let (from, to) = period.ends(settings)?;
    let stored = store.span()?.ok_or_else(|| Failure::NoData("the store is empty".into()))?;
    // What lies before the first and after the last reading has no shifts to look at.
    let from = from.map_or(stored.0, |from| from.max(stored.0));
    let to = to.map_or(stored.1 + Span(1), |to| to.min(stored.1 + Span(1)));
    Ok(if from < to { settings.plant.shifts.between(from, to) } else { Vec::new() })
}

fn write(
    accounts: &[Account],
    settings: &Settings,
    arguments: &EnergyArguments,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let rows: Vec<EnergyRow> = accounts.iter().flat_map(|account| account.rows.iter().cloned()).collect();
    match arguments.format {
        EnergyFormat::Text => write_text(accounts, settings, arguments.by, out)?,
        EnergyFormat::Csv => table::write_csv(COLUMNS, &rows, out)?,
        EnergyFormat::Json => table::write_json(COLUMNS, &rows, out)?,
        EnergyFormat::Parquet => table::write_parquet(COLUMNS, &rows, out)?,
    }
    Ok(())
}

//! `alerts rates`: how often alerts called, by line and shift.

use std::io::Write;

use alert::{HIGH_SHARE, Rates};
use chrono::NaiveDate;
use clap::Args;
use reading::Span;
use serde::Serialize;

use super::{Office, TextOrJson};
use crate::alert_desk::calls;
use crate::cli::Period;
use crate::failure::Failure;

/// Without `--from`, so far back.
const DEFAULT_PERIOD: Span = Span::minutes(7 * 24 * 60);

/// When.
#[derive(Debug, Args)]
pub(super) struct RatesArguments {
    #[command(flatten)]
    period: Period,
    /// How they are printed.
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// The rates of a line in a shift, as far as it has come.
#[derive(Debug, Serialize)]
struct ShiftRates<'a> {
    line: &'a str,
    date: NaiveDate,
    shift: String,
    #[serde(flatten)]
    rates: Rates,
    /// Targets of ISA-18.2 that are missed.
    missed: Vec<&'static str>,
}

/// Prints how often alerts called; without a period, in the last seven days.
pub(super) fn rates(office: &Office<'_>, arguments: &RatesArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let now = office.clock.now();
    let (from, to) = arguments.period.ends(office.settings)?;
    let to = to.unwrap_or(now).min(now);
    let from = from.unwrap_or(to - DEFAULT_PERIOD);
    let mut rows = Vec::new();
    for line in &office.settings.plant.lines {
        let calls = calls(&office.store, &line.id)?;
        for shift in office.settings.plant.shifts.between(from, to) {
            let rates = Rates::between(&calls, shift.starts.max(from), shift.ends.min(to));
            let (date, shift) = (shift.date, shift.name.to_string());
            rows.push(ShiftRates { line: &line.id, date, shift, missed: rates.missed(), rates });
        }
    }
    match arguments.format {
        TextOrJson::Json => Ok(writeln!(out, "{}", serde_json::to_string_pretty(&rows)?)?),
        TextOrJson::Text => text(&rows, out),
    }
}

fn text(rows: &[ShiftRates<'_>], out: &mut dyn Write) -> Result<(), Failure> {
    writeln!(
        out,
        "{:<12} {:<10} {:<8} {:>5} {:>5} {:>9} {:>10} {:>8} {:>6}  against ISA-18.2",
        "line", "date", "shift", "calls", "high", "an hour", "in 10 min", "flood %", "stale"
    )?;
    for ShiftRates { line, date, shift, rates, missed } in rows {
        writeln!(
            out,
            "{line:<12} {date:<10} {shift:<8} {:>5} {:>5} {:>9.2} {:>10} {:>8.1} {:>6}  {}",
            rates.calls,
            rates.high,
            rates.per_hour,
            rates.most_in_ten_minutes,
            rates.flood_share * 100.0,
            rates.stale,
            if missed.is_empty() { "within".into() } else { missed.join(", ") }
        )?;
    }
    let sum = |count: fn(&Rates) -> usize| rows.iter().map(|row| count(&row.rates)).sum::<usize>();
    let (calls, high) = (sum(|rates| rates.calls), sum(|rates| rates.high));
    if calls > 0 {
        let (share, wanted) = (high as f64 / calls as f64 * 100.0, HIGH_SHARE * 100.0);
        writeln!(
            out,
            "\nOf {calls} calls {share:.0} % were high. ISA-18.2 wants about {wanted:.0} % high, 15 % medium, 80 % low."
        )?;
    }
    Ok(())
}

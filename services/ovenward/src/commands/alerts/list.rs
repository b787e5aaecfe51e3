//! The list of alerts.

use std::io::Write;

use alert::{Alert, AlertState};
use clap::{Args, ValueEnum};
use store::AlertQuery;

use super::Office;
use crate::cli::Period;
use crate::commands::replay::print_table;
use crate::failure::Failure;

/// Which alerts.
#[derive(Debug, Args)]
pub(super) struct ListArguments {
    #[command(flatten)]
    period: Period,
    /// Only of this line.
    #[arg(long)]
    line: Option<String>,
    /// Only in this state, such as unacknowledged.
    #[arg(long, value_parser = state)]
    state: Option<AlertState>,
    /// How they are printed.
    #[arg(long, value_enum, default_value_t = AlertsFormat::Table)]
    format: AlertsFormat,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum AlertsFormat {
    /// For people.
    Table,
    /// One JSON array.
    Json,
    /// One alert a line as JSON.
    Jsonl,
}

/// Prints the alerts asked for.
///
/// # Errors
/// The store cannot be read, or there are none.
pub(super) fn list(office: &Office<'_>, arguments: &ListArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let (from, to) = arguments.period.ends(office.settings)?;
    let query =
        AlertQuery { from, to, line: arguments.line.clone(), state: arguments.state.map(|state| state.name().into()) };
    let records = office.store.alerts(&query)?;
    if records.is_empty() {
        return Err(Failure::NoData("no alert was raised".into()));
    }
    let alerts = records.iter().map(|record| serde_json::from_str(&record.json)).collect::<Result<Vec<Alert>, _>>()?;
    match arguments.format {
        AlertsFormat::Table => print_table(alerts.iter(), out)?,
        AlertsFormat::Json => writeln!(out, "{}", serde_json::to_string_pretty(&alerts)?)?,
        AlertsFormat::Jsonl => {
            for alert in &alerts {
                writeln!(out, "{}", serde_json::to_string(alert)?)?;
            }
        }
    }
    Ok(())
}

fn state(text: &str) -> Result<AlertState, String> {
    let known = AlertState::ALL.into_iter().find(|state| state.name() == text);
    known.ok_or_else(|| {
        format!("no alert is ever {text}; write one of {}", AlertState::ALL.map(AlertState::name).join(", "))
    })
}

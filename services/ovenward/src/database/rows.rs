//! Rows as the database takes them: the fields that the commands print as JSON, under the same names.

use alert::Alert;
use anyhow::{Result, bail};
use balance::RateChange;
use serde::Serialize;
use serde_json::{Value, json};
use shift_profile::ShiftProfileRow;
use sql::Row;
use store::{AlertChange, AlertRecord};

use crate::commands::ALERTS;
use crate::energy::{COLUMNS, EnergyRow};
use crate::table::Object;

/// The profile table of one shift.
pub(super) fn of_shift(table: &[ShiftProfileRow]) -> Result<Vec<Row>> {
    table.iter().map(row).collect()
}

/// An energy record of one shift.
pub(super) fn of_energy(record: &EnergyRow) -> Result<Row> {
    let mut row = row(&Object { columns: COLUMNS, row: record })?;
    // Every row is of a shift, and a sum from the first row of a table on is nothing that one row has.
    for of_a_table in ["by", "cusum_kwh"] {
        row.remove(of_a_table);
    }
    Ok(row)
}

/// An alert, with the whole of it beside its columns.
pub(super) fn of_alert(record: &AlertRecord) -> Result<Row> {
    let alert: Alert = serde_json::from_str(&record.json)?;
    let mut row = row(&Object { columns: ALERTS, row: &alert })?;
    row.insert("document".into(), serde_json::from_str(&record.json)?);
    Ok(row)
}

/// What was done about an alert, in its order.
pub(super) fn of_history(site: &str, alert: &str, history: &[AlertChange]) -> Result<Vec<Row>> {
    let numbered = |(at, change): (usize, &AlertChange)| {
        let mut row = row(change)?;
        row.extend([("site".into(), json!(site)), ("alert".into(), json!(alert)), ("number".into(), json!(at + 1))]);
        Ok(row)
    };
    history.iter().enumerate().map(numbered).collect()
}

/// A rate change, with the whole of it beside its columns.
pub(super) fn of_rate_change(site: &str, change: &RateChange) -> Result<Row> {
    row(&json!({
        "site": site,
        "id": change.id,
        "line": change.line,
        "product": change.product,
        "state": change.state().to_string(),
        "from_m_min": change.from_m_min,
        "to_m_min": change.to_m_min,
        "remedy": change.remedy,
        "reason": change.reason,
        "balance": change.balance,
        "carryover_chance_pct": change.carryover_chance_pct,
        "proposed_by": change.proposed.by,
        "proposed_at": change.proposed.at,
        "made_by": change.made.as_ref().map(|made| &made.by),
        "made_at": change.made.as_ref().map(|made| made.at),
        "looked_at": change.outcome.as_ref().map(|outcome| outcome.looked.at),
        "document": change,
    }))
}

fn row(of: &impl Serialize) -> Result<Row> {
    match serde_json::to_value(of)? {
        Value::Object(row) => Ok(row),
        other => bail!("{other} is no row"),
    }
}

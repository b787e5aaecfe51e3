//! The record of a shift that is over, as it goes out on MQTT.

use anyhow::Result;
use reading::{LineIndex, ShiftInstance};

use super::account::Books;
use super::period::By;
use super::row::COLUMNS;
use crate::table::Object;

/// The record of one line in one shift as JSON: the row of `energy --by shift`, without a baseline, which is for a
/// report over many shifts. `None` if nothing was measured.
///
/// # Errors
/// The store cannot be read.
pub(crate) fn finished_shift(books: &Books<'_>, line: LineIndex, shift: &ShiftInstance) -> Result<Option<Vec<u8>>> {
    let account = books.account(line, std::slice::from_ref(shift), None, By::Shift)?;
    let Some(row) = account.and_then(|account| account.rows.into_iter().next()) else { return Ok(None) };
    Ok(Some(serde_json::to_vec(&Object { columns: COLUMNS, row: &row })?))
}

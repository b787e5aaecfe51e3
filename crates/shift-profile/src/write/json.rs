//! The table as JSON.

use std::io::{self, Write};

use crate::row::ShiftProfileRow;

/// Writes the table as a JSON array with one object for each row. What is not known is `null`.
///
/// # Errors
/// What `out` reports.
pub fn write_json(rows: &[ShiftProfileRow], mut out: impl Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut out, rows)?;
    writeln!(out)
}

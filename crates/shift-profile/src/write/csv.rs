//! The table as CSV.

use std::io::{self, Write};

use crate::row::ShiftProfileRow;

/// Writes the table as CSV (RFC 4180): a header, then a line for each row. What is not known is empty.
///
/// # Errors
/// What `out` reports.
pub fn write_csv(rows: &[ShiftProfileRow], out: impl Write) -> io::Result<()> {
    // The header is written by hand, so that a table without rows has one too.
    let mut writer = csv::WriterBuilder::new().has_headers(false).from_writer(out);
    writer.write_record(ShiftProfileRow::COLUMNS)?;
    for row in rows {
        writer.serialize(row)?;
    }
    writer.flush()
}

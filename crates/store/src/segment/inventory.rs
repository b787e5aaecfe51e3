//! What a file holds, found in the file itself: needed only where the catalogue does not know it.

use std::path::Path;

use arrow::array::AsArray;
use arrow::datatypes::TimestampMicrosecondType;
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use super::file::{COLUMNS, FORMAT, FORMAT_KEY};
use super::{Extent, day_of};
use crate::disk::{Content, Disk};
use crate::error::Cause;

/// The line and the tags of a segment, as its file tells them.
pub(crate) struct Inventory {
    pub(crate) line: String,
    pub(crate) content: Content,
    /// Names, and extents whose tag is not yet known: it is 0.
    pub(crate) tags: Vec<(String, Extent)>,
}

impl Inventory {
    /// Reads times and tags of the whole file.
    pub(crate) fn of(disk: &Disk, path: &Path) -> Result<Self, Cause> {
        let content = disk.content(path)?;
        let builder = ParquetRecordBatchReaderBuilder::try_new(disk.open(path)?)?;
        let note = |key: &str| {
            let notes = builder.metadata().file_metadata().key_value_metadata()?;
            notes.iter().find(|note| note.key == key)?.value.clone()
        };
        if note(FORMAT_KEY).as_deref() != Some(FORMAT) {
            return Err(Cause::Wrong(format!("its footer does not say {FORMAT}")));
        }
        let line = note("line").ok_or_else(|| Cause::Wrong("its footer names no line".into()))?;
        let columns = ProjectionMask::columns(builder.parquet_schema(), [COLUMNS[0], COLUMNS[1]]);
        let mut inventory = Self { line, content, tags: Vec::new() };
        let mut row = 0;
        for batch in builder.with_projection(columns).build()? {
            let batch = batch?;
            let wrong = || Cause::Wrong("its columns are not time and tag".into());
            let times = batch.column(0).as_primitive_opt::<TimestampMicrosecondType>().ok_or_else(wrong)?;
            let tags = batch.column(1).as_string_opt::<i32>().ok_or_else(wrong)?;
            for (time, tag) in times.values().iter().zip(tags.iter()) {
                inventory.add(row, *time, tag.unwrap_or_default())?;
                row += 1;
            }
        }
        if inventory.tags.is_empty() {
            return Err(Cause::Wrong("it has no rows".into()));
        }
        Ok(inventory)
    }

    fn add(&mut self, row: usize, time: i64, name: &str) -> Result<(), Cause> {
        let one_day = self.tags.first().is_none_or(|(_, first)| day_of(first.first) == day_of(time));
        match self.tags.last_mut() {
            _ if !one_day => Err(Cause::Wrong("its rows are not of one day".into())),
            Some((last, extent)) if last == name && extent.last < time => {
                extent.last = time;
                extent.rows += 1;
                Ok(())
            }
            Some((last, _)) if &**last >= name => Err(Cause::Wrong("its rows are not in order".into())),
            _ => {
                let extent = Extent { tag: 0, first: time, last: time, first_row: row, rows: 1 };
                self.tags.push((name.to_owned(), extent));
                Ok(())
            }
        }
    }
}

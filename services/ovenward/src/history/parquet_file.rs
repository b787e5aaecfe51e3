//! Parquet: the columns `time`, `tag`, `value`, and `text` and `quality` where there are any.

use std::fs::File;
use std::path::Path;

use anyhow::{Context, Result};
use arrow::array::{Array, RecordBatch};
use arrow::util::display::{ArrayFormatter, FormatOptions};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use super::Row;

pub(super) fn rows(path: &Path) -> Result<Box<dyn Iterator<Item = Result<Row>>>> {
    let builder = ParquetRecordBatchReaderBuilder::try_new(File::open(path)?)?;
    for name in ["time", "tag", "value"] {
        builder.schema().field_with_name(name).with_context(|| format!("it has no column {name}"))?;
    }
    let mut before = 0;
    Ok(Box::new(builder.build()?.flat_map(move |batch| {
        let rows = batch.map_err(Into::into).and_then(|batch| rows_of(&batch, before));
        match rows {
            Ok(rows) => {
                before += rows.len() as u64;
                rows.into_iter().map(Ok).collect::<Vec<_>>()
            }
            Err(error) => vec![Err(error)],
        }
    })))
}

fn rows_of(batch: &RecordBatch, before: u64) -> Result<Vec<Row>> {
    let options = FormatOptions::default().with_timestamp_tz_format(Some("%+")).with_timestamp_format(Some("%+"));
    let column =
        |name: &str| batch.column_by_name(name).map(|column| (column, ArrayFormatter::try_new(column, &options)));
    let text = |name: &str, row: usize| -> Result<Option<String>> {
        match column(name) {
            Some((column, formatter)) if !column.is_null(row) => Ok(Some(formatter?.value(row).try_to_string()?)),
            _ => Ok(None),
        }
    };
    (0..batch.num_rows())
        .map(|row| {
            Ok(Row {
                place: before + row as u64 + 1,
                time: text("time", row)?.unwrap_or_default(),
                tag: text("tag", row)?.unwrap_or_default(),
                // A product code stands in `text`; its `value` is empty.
                value: text("text", row)?
                    .map_or_else(|| text("value", row), |text| Ok(Some(text)))?
                    .unwrap_or_default(),
                quality: text("quality", row)?,
            })
        })
        .collect()
}

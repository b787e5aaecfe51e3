//! Parquet: the columns `time`, `tag`, `value`, and `text` and `quality` where there are any.

use std::fs::File;
use std::path::Path;

use anyhow::{Context, Result};
use arrow::array::{Array, ArrayRef, RecordBatch};
use arrow::compute::cast;
use arrow::datatypes::DataType;
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
    let options = FormatOptions::default();
    let column = |name: &str| batch.column_by_name(name).map(counted).transpose();
    let columns = [column("time")?, column("tag")?, column("value")?, column("text")?, column("quality")?];
    let formatted = |column: &Option<ArrayRef>, row: usize| -> Result<Option<String>> {
        match column {
            Some(column) if !column.is_null(row) => {
                Ok(Some(ArrayFormatter::try_new(column, &options)?.value(row).try_to_string()?))
            }
            _ => Ok(None),
        }
    };
    let [time, tag, value, text, quality] = &columns;
    (0..batch.num_rows())
        .map(|row| {
            Ok(Row {
                place: before + row as u64 + 1,
                time: formatted(time, row)?.unwrap_or_default(),
                tag: formatted(tag, row)?.unwrap_or_default(),
                // A product code stands in `text`; its `value` is empty.
                value: formatted(text, row)?
                    .map_or_else(|| formatted(value, row), |text| Ok(Some(text)))?
                    .unwrap_or_default(),
                quality: formatted(quality, row)?,
            })
        })
        .collect()
}

/// A timestamp as a count since 1970 in its own unit, whatever its time zone is called; anything else as it is.
fn counted(column: &ArrayRef) -> Result<ArrayRef> {
    match column.data_type() {
        DataType::Timestamp(..) => Ok(cast(column, &DataType::Int64)?),
        _ => Ok(column.clone()),
    }
}

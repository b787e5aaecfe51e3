//! A table whose columns say what they are: one list gives CSV, JSON, Parquet and the data dictionary, so that none of
//! them can say something else than the others.

use std::io::{self, Write};
use std::sync::Arc;

use arrow::array::{ArrayRef, Float64Array, Int64Array, RecordBatch, StringArray, TimestampMicrosecondArray};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;
use reading::Timestamp;
use serde::ser::{Serialize, SerializeMap, Serializer};

/// A column of rows `R`: its name, its unit, what it means, and how a row gives it. `None` is not known.
pub(crate) struct Column<R: 'static> {
    pub(crate) name: &'static str,
    pub(crate) unit: &'static str,
    pub(crate) meaning: &'static str,
    value: Value<R>,
}

enum Value<R: 'static> {
    Text(fn(&R) -> Option<String>),
    Number(fn(&R) -> Option<f64>),
    Count(fn(&R) -> Option<i64>),
    Time(fn(&R) -> Option<Timestamp>),
}

impl<R> Column<R> {
    pub(crate) const fn text(name: &'static str, meaning: &'static str, value: fn(&R) -> Option<String>) -> Self {
        Self { name, unit: "", meaning, value: Value::Text(value) }
    }

    pub(crate) const fn number(
        name: &'static str,
        unit: &'static str,
        meaning: &'static str,
        value: fn(&R) -> Option<f64>,
    ) -> Self {
        Self { name, unit, meaning, value: Value::Number(value) }
    }

    pub(crate) const fn count(name: &'static str, meaning: &'static str, value: fn(&R) -> Option<i64>) -> Self {
        Self { name, unit: "", meaning, value: Value::Count(value) }
    }

    pub(crate) const fn time(name: &'static str, meaning: &'static str, value: fn(&R) -> Option<Timestamp>) -> Self {
        Self { name, unit: "", meaning, value: Value::Time(value) }
    }

    /// What kind of value it has, in words.
    pub(crate) fn kind(&self) -> &'static str {
        match self.value {
            Value::Text(_) => "text",
            Value::Number(_) => "number",
            Value::Count(_) => "whole number",
            Value::Time(_) => "time, UTC",
        }
    }

    /// Its row in the dictionary.
    fn entry(&self) -> Entry {
        Entry { name: self.name, kind: self.kind(), unit: self.unit, meaning: self.meaning }
    }

    fn cell(&self, row: &R) -> String {
        let cell = match self.value {
            Value::Text(of) => of(row),
            Value::Number(of) => of(row).map(|number| number.to_string()),
            Value::Count(of) => of(row).map(|count| count.to_string()),
            Value::Time(of) => of(row).map(|time| time.to_string()),
        };
        cell.unwrap_or_default()
    }

    fn array(&self, rows: &[R]) -> ArrayRef {
        match self.value {
            Value::Text(of) => Arc::new(rows.iter().map(of).collect::<StringArray>()),
            Value::Number(of) => Arc::new(rows.iter().map(of).collect::<Float64Array>()),
            Value::Count(of) => Arc::new(rows.iter().map(of).collect::<Int64Array>()),
            Value::Time(of) => {
                let times: TimestampMicrosecondArray = rows.iter().map(|row| of(row).map(|time| time.0)).collect();
                Arc::new(times.with_timezone("UTC"))
            }
        }
    }
}

/// Writes CSV (RFC 4180) with a header. What is not known is empty.
pub(crate) fn write_csv<R>(columns: &[Column<R>], rows: &[R], out: impl Write) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(out);
    writer.write_record(columns.iter().map(|column| column.name))?;
    for row in rows {
        writer.write_record(columns.iter().map(|column| column.cell(row)))?;
    }
    writer.flush()
}

/// Writes a JSON array with an object for each row. What is not known is null.
pub(crate) fn write_json<R>(columns: &[Column<R>], rows: &[R], mut out: impl Write) -> io::Result<()> {
    let objects: Vec<Object<'_, R>> = rows.iter().map(|row| Object { columns, row }).collect();
    serde_json::to_writer_pretty(&mut out, &objects)?;
    writeln!(out)
}

/// Writes Parquet: times as UTC timestamps in microseconds, what is not known null.
pub(crate) fn write_parquet<R>(columns: &[Column<R>], rows: &[R], mut out: impl Write) -> io::Result<()> {
    let arrays = columns.iter().map(|column| (column.name, column.array(rows), true));
    let batch = RecordBatch::try_from_iter_with_nullable(arrays).map_err(io::Error::other)?;
    let settings = WriterProperties::builder().set_compression(Compression::ZSTD(ZstdLevel::default())).build();
    // The writer of Parquet wants something it may send to a thread.
    let mut bytes = Vec::new();
    let mut writer = ArrowWriter::try_new(&mut bytes, batch.schema(), Some(settings))?;
    writer.write(&batch)?;
    writer.close()?;
    out.write_all(&bytes)
}

/// Writes what every column means, as a table in Markdown.
pub(crate) fn write_dictionary<R>(columns: &[Column<R>], out: impl Write) -> io::Result<()> {
    write_entries(columns.iter().map(Column::entry), out)
}

/// What a column of a table is that is written elsewhere.
pub(crate) struct Entry {
    pub(crate) name: &'static str,
    pub(crate) kind: &'static str,
    pub(crate) unit: &'static str,
    pub(crate) meaning: &'static str,
}

/// Writes a dictionary of these columns.
pub(crate) fn write_entries(entries: impl IntoIterator<Item = Entry>, mut out: impl Write) -> io::Result<()> {
    writeln!(out, "| column | kind | unit | meaning |\n| --- | --- | --- | --- |")?;
    for Entry { name, kind, unit, meaning } in entries {
        writeln!(out, "| `{name}` | {kind} | {unit} | {meaning} |")?;
    }
    Ok(())
}

/// A row as a JSON object, its keys in the order of the columns.
pub(crate) struct Object<'a, R: 'static> {
    pub(crate) columns: &'a [Column<R>],
    pub(crate) row: &'a R,
}

impl<R> Serialize for Object<'_, R> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.columns.len()))?;
        for column in self.columns {
            match column.value {
                Value::Text(of) => map.serialize_entry(column.name, &of(self.row))?,
                Value::Number(of) => map.serialize_entry(column.name, &of(self.row))?,
                Value::Count(of) => map.serialize_entry(column.name, &of(self.row))?,
                Value::Time(of) => map.serialize_entry(column.name, &of(self.row))?,
            }
        }
        map.end()
    }
}

//! Writing a segment, tag by tag.

use std::sync::Arc;

use arrow::array::{
    ArrayRef, DictionaryArray, Float64Array, Int32Array, RecordBatch, StringArray, TimestampMicrosecondArray,
    UInt8Array,
};
use arrow::datatypes::SchemaRef;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_writer::ArrowWriterOptions;
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::file::metadata::{KeyValue, SortingColumn};
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use reading::Value;

use super::file::{self, COLUMNS, FORMAT, FORMAT_KEY, schema};
use super::publish::Place;
use super::{Extent, Row, date_of};
use crate::disk::Output;
use crate::error::Cause;
use crate::tags::TagId;

/// Rows of a page. The smallest piece that can be read alone: an hour of one tag at one a second.
const PAGE_ROWS: usize = 3_600;

/// A row group ends with the tag that brings it to this many rows: a day of one tag at one a second
/// has its own. So has its dictionary, which takes a quarter less than one of many tags (0.58 bytes a
/// value instead of 0.76, invented data of 23 tags), and engines that look for a tag pass over the rest.
const GROUP_ROWS: usize = 50_000;

/// Above this level files hardly get smaller.
const ZSTD_LEVEL: i32 = 6;

/// A segment that is being written under a temporary name.
pub(crate) struct SegmentWriter {
    writer: ArrowWriter<Output>,
    schema: SchemaRef,
    extents: Vec<Extent>,
    rows: usize,
}

impl SegmentWriter {
    pub(crate) fn create(output: Output, site: &str, place: &Place) -> Result<Self, Cause> {
        let schema = schema();
        let options = ArrowWriterOptions::new()
            .with_properties(properties(site, place)?)
            // Without it the file says nothing that only one family of engines understands.
            .with_skip_arrow_metadata(true);
        let writer = ArrowWriter::try_new_with_options(output, schema.clone(), options)?;
        Ok(Self { writer, schema, extents: Vec::new(), rows: 0 })
    }

    /// Writes the rows of one tag, which are in order of time; tags come in order of their names.
    pub(crate) fn write_tag(&mut self, tag: TagId, name: &str, rows: &[Row]) -> Result<(), Cause> {
        let (Some(first), Some(last)) = (rows.first(), rows.last()) else { return Ok(()) };
        self.writer.write(&batch(&self.schema, name, rows)?)?;
        if self.writer.in_progress_rows() >= GROUP_ROWS {
            self.writer.flush()?;
        }
        let extent = Extent { tag, first: first.time, last: last.time, first_row: self.rows, rows: rows.len() };
        self.extents.push(extent);
        self.rows += rows.len();
        Ok(())
    }

    /// Ends the file, which is complete then but not yet safe on the disk.
    pub(crate) fn finish(self) -> Result<(Output, Vec<Extent>), Cause> {
        Ok((self.writer.into_inner()?, self.extents))
    }
}

fn batch(schema: &SchemaRef, name: &str, rows: &[Row]) -> Result<RecordBatch, Cause> {
    let time = TimestampMicrosecondArray::from_iter_values(rows.iter().map(|row| row.time)).with_timezone("UTC");
    let tag_keys = Int32Array::from_value(0, rows.len());
    let tag = DictionaryArray::try_new(tag_keys, Arc::new(StringArray::from_iter_values([name])))?;
    let value: Float64Array = rows.iter().map(|row| row.value.number()).collect();
    let text: StringArray = rows
        .iter()
        .map(|row| match &row.value {
            Value::Text(text) => Some(&**text),
            Value::Number(_) => None,
        })
        .collect();
    let quality = UInt8Array::from_iter_values(rows.iter().map(|row| row.quality));
    let columns: Vec<ArrayRef> =
        vec![Arc::new(time), Arc::new(tag), Arc::new(value), Arc::new(text), Arc::new(quality)];
    Ok(RecordBatch::try_new(schema.clone(), columns)?)
}

fn properties(site: &str, place: &Place) -> Result<WriterProperties, Cause> {
    let note = |key: &str, value: &str| KeyValue::new(key.to_owned(), value.to_owned());
    let mut notes = vec![
        note(FORMAT_KEY, FORMAT),
        note("site", site),
        note("line", place.line),
        note("date", &date_of(place.day).to_string()),
        note("program", concat!("ovenward ", env!("CARGO_PKG_VERSION"))),
    ];
    if !place.joins.is_empty() {
        let names: Vec<String> = place.joins.iter().map(|id| file::stem(*id)).collect();
        notes.push(note(file::JOINS_KEY, &names.join(",")));
    }
    let ascending = |column_idx| SortingColumn { column_idx, descending: false, nulls_first: false };
    let mut properties = WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::try_new(ZSTD_LEVEL)?))
        .set_statistics_enabled(EnabledStatistics::Chunk)
        .set_data_page_row_count_limit(PAGE_ROWS)
        // A page ends at the next multiple of this, so it must not be larger.
        .set_write_batch_size(PAGE_ROWS)
        .set_sorting_columns(Some(vec![ascending(1), ascending(0)]))
        .set_key_value_metadata(Some(notes))
        .set_column_dictionary_enabled(COLUMNS[0].into(), false)
        .set_column_encoding(COLUMNS[0].into(), Encoding::DELTA_BINARY_PACKED)
        // A sensor repeats itself: a dictionary takes 0.8 bytes a value where the split bytes take 2.8
        // (invented data of 19 sensors with 0 to 3 decimals). The split is for those that never do.
        .set_column_encoding(COLUMNS[2].into(), Encoding::BYTE_STREAM_SPLIT);
    // Whoever looks for a time or a value passes over pages. In tag, text and quality a page hardly differs from its row
    // group, and telling so of each would be a twentieth of the file.
    for column in [COLUMNS[0], COLUMNS[2]] {
        properties = properties.set_column_statistics_enabled(column.into(), EnabledStatistics::Page);
    }
    Ok(properties.build())
}

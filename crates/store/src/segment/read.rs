//! Reading parts of segments: only the pages that hold a wanted tag at a wanted time.

use std::collections::HashMap;
use std::fs::File;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::datatypes::{Float64Type, TimestampMicrosecondType, UInt8Type};
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{
    ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReaderBuilder, RowSelection,
};
use parquet::file::metadata::PageIndexPolicy;
use parquet::file::page_index::column_index::ColumnIndexMetaData;
use reading::Value;

use super::file::COLUMNS;
use super::{Extent, Part, Row};
use crate::disk::Disk;
use crate::error::{At, Cause};
use crate::tags::TagId;

/// Rows decoded at once.
const BATCH_ROWS: usize = 8192;

/// Footers kept in memory, some tens of kilobytes each.
const FOOTERS: usize = 64;

/// The segments' files.
pub(crate) struct Segments {
    folder: PathBuf,
    disk: Disk,
    /// A segment never changes, so its footer is read once. Keyed by segment id.
    footers: Mutex<HashMap<i64, Footer>>,
}

#[derive(Clone)]
struct Footer {
    metadata: ArrowReaderMetadata,
    pages: Arc<[Page]>,
}

/// Rows of one page of the time column, and the earliest and latest time among them.
struct Page {
    rows: Range<usize>,
    earliest: i64,
    latest: i64,
}

impl Segments {
    pub(crate) fn new(folder: &Path, disk: Disk) -> Self {
        Self { folder: folder.to_owned(), disk, footers: Mutex::default() }
    }

    /// Shows each row of the part's extents whose time is in range: extent by extent, in order of
    /// time within each.
    pub(crate) fn read(&self, part: &Part, times: &Range<i64>, mut each: impl FnMut(TagId, Row)) -> Result<(), Cause> {
        let path = self.folder.join(&part.path);
        let file = self.disk.open(&path).at(&path)?;
        let footer = match part.segment {
            Some(id) => self.footer(id, &file).at(&path)?,
            None => Footer::load(&file).at(&path)?,
        };
        let wanted: Vec<(TagId, Range<usize>)> =
            part.extents.iter().flat_map(|extent| footer.rows(extent, times)).collect();
        read_rows(file, &footer, &wanted, |tag, row| {
            if times.contains(&row.time) {
                each(tag, row);
            }
        })
        .at(&path)
    }

    fn footer(&self, segment: i64, file: &File) -> Result<Footer, Cause> {
        if let Some(footer) = self.footers.lock().unwrap_or_else(PoisonError::into_inner).get(&segment) {
            return Ok(footer.clone());
        }
        let footer = Footer::load(file)?;
        let mut footers = self.footers.lock().unwrap_or_else(PoisonError::into_inner);
        if footers.len() >= FOOTERS {
            footers.clear();
        }
        footers.insert(segment, footer.clone());
        Ok(footer)
    }
}

impl Footer {
    fn load(file: &File) -> Result<Self, Cause> {
        let options = ArrowReaderOptions::new().with_page_index_policy(PageIndexPolicy::Required);
        let metadata = ArrowReaderMetadata::load(file, options)?;
        let mut pages = Vec::new();
        let mut group_start = 0;
        for group in 0..metadata.metadata().num_row_groups() {
            let group_end = group_start + metadata.metadata().row_group(group).num_rows() as usize;
            let index = metadata.metadata().page_index_for_row_group(group);
            let (Some(ColumnIndexMetaData::INT64(bounds)), Some(offsets)) =
                (index.column_index(0), index.offset_index(0))
            else {
                return Err(Cause::Wrong("it has no page index: it was not written by this program".into()));
            };
            let starts = offsets.page_locations().iter().map(|page| group_start + page.first_row_index as usize);
            let ends = starts.clone().skip(1).chain([group_end]);
            for ((start, end), (earliest, latest)) in
                starts.zip(ends).zip(bounds.min_values().iter().zip(bounds.max_values()))
            {
                pages.push(Page { rows: start..end, earliest: *earliest, latest: *latest });
            }
            group_start = group_end;
        }
        Ok(Self { metadata, pages: pages.into() })
    }

    /// The rows of an extent in pages that reach into these times.
    fn rows(&self, extent: &Extent, times: &Range<i64>) -> Vec<(TagId, Range<usize>)> {
        let (start, end) = (extent.first_row, extent.first_row + extent.rows);
        let first_page = self.pages.partition_point(|page| page.rows.end <= start);
        self.pages[first_page..]
            .iter()
            .take_while(|page| page.rows.start < end)
            .filter(|page| page.earliest < times.end && page.latest >= times.start)
            .map(|page| (extent.tag, page.rows.start.max(start)..page.rows.end.min(end)))
            .collect()
    }
}

fn read_rows(
    file: File,
    footer: &Footer,
    wanted: &[(TagId, Range<usize>)],
    mut each: impl FnMut(TagId, Row),
) -> Result<(), Cause> {
    let builder = ParquetRecordBatchReaderBuilder::new_with_metadata(file, footer.metadata.clone());
    let columns = ProjectionMask::columns(builder.parquet_schema(), [COLUMNS[0], COLUMNS[2], COLUMNS[3], COLUMNS[4]]);
    let total = builder.metadata().file_metadata().num_rows() as usize;
    let selection = RowSelection::from_consecutive_ranges(wanted.iter().map(|(_, rows)| rows.clone()), total);
    let batches = builder.with_projection(columns).with_row_selection(selection).with_batch_size(BATCH_ROWS).build()?;

    let mut tags = wanted.iter().flat_map(|(tag, rows)| std::iter::repeat_n(*tag, rows.len()));
    let mut text: Option<Arc<str>> = None;
    for batch in batches {
        let batch = batch?;
        let columns = Columns::of(&batch)?;
        for (index, tag) in (0..batch.num_rows()).zip(&mut tags) {
            each(tag, columns.row(index, &mut text));
        }
    }
    Ok(())
}

/// The four columns read, as what they are.
struct Columns<'a> {
    time: &'a arrow::array::PrimitiveArray<TimestampMicrosecondType>,
    value: &'a arrow::array::PrimitiveArray<Float64Type>,
    text: &'a arrow::array::StringArray,
    quality: &'a arrow::array::PrimitiveArray<UInt8Type>,
}

impl<'a> Columns<'a> {
    fn of(batch: &'a RecordBatch) -> Result<Self, Cause> {
        let wrong = |column: &str| Cause::Wrong(format!("column {column} is not what this program writes"));
        let column = |index: usize| batch.column(index);
        Ok(Self {
            time: column(0).as_primitive_opt().ok_or_else(|| wrong("time"))?,
            value: column(1).as_primitive_opt().ok_or_else(|| wrong("value"))?,
            text: column(2).as_string_opt().ok_or_else(|| wrong("text"))?,
            quality: column(3).as_primitive_opt().ok_or_else(|| wrong("quality"))?,
        })
    }

    /// A row; `last` is the text of the row before, which the next one mostly repeats.
    fn row(&self, index: usize, last: &mut Option<Arc<str>>) -> Row {
        let value = if self.text.is_valid(index) {
            let text = self.text.value(index);
            let shared = last.take().filter(|last| **last == *text).unwrap_or_else(|| text.into());
            Value::Text(last.insert(shared).clone())
        } else {
            Value::Number(self.value.value(index))
        };
        Row { time: self.time.value(index), value, quality: self.quality.value(index) }
    }
}

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
        let mut text = None;
        self.read_runs(part, times, |tag, run| {
            for index in 0..run.times().len() {
                each(tag, run.row(index, &mut text));
            }
        })
    }

    /// The same rows, as many at once as lie together.
    pub(crate) fn read_runs(
        &self,
        part: &Part,
        times: &Range<i64>,
        mut each: impl FnMut(TagId, Run),
    ) -> Result<(), Cause> {
        let path = self.folder.join(&part.path);
        let file = self.disk.open(&path).at(&path)?;
        let footer = match part.segment {
            Some(id) => self.footer(id, &file).at(&path)?,
            None => Footer::load(&file).at(&path)?,
        };
        let wanted: Vec<(TagId, Range<usize>)> =
            part.extents.iter().flat_map(|extent| footer.rows(extent, times)).collect();
        read_runs(file, &footer, &wanted, |tag, run| {
            let run = run.within(times);
            if !run.times().is_empty() {
                each(tag, run);
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

fn read_runs(
    file: File,
    footer: &Footer,
    wanted: &[(TagId, Range<usize>)],
    mut each: impl FnMut(TagId, Run),
) -> Result<(), Cause> {
    let builder = ParquetRecordBatchReaderBuilder::new_with_metadata(file, footer.metadata.clone());
    let columns = ProjectionMask::columns(builder.parquet_schema(), [COLUMNS[0], COLUMNS[2], COLUMNS[3], COLUMNS[4]]);
    let total = builder.metadata().file_metadata().num_rows() as usize;
    let selection = RowSelection::from_consecutive_ranges(wanted.iter().map(|(_, rows)| rows.clone()), total);
    let batches = builder.with_projection(columns).with_row_selection(selection).with_batch_size(BATCH_ROWS).build()?;

    let mut wanted = wanted.iter().map(|(tag, rows)| (*tag, rows.len()));
    let (mut tag, mut left) = (0, 0);
    for batch in batches {
        let batch = batch?;
        let columns = Columns::of(&batch)?;
        let mut shown = 0;
        while shown < batch.num_rows() {
            if left == 0 {
                let Some(next) = wanted.next() else { return Ok(()) };
                (tag, left) = next;
            }
            let rows = left.min(batch.num_rows() - shown);
            each(tag, Run { columns: &columns, rows: shown..shown + rows });
            shown += rows;
            left -= rows;
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
}

/// Rows of one tag that lie together, in order of time.
pub(crate) struct Run<'a> {
    columns: &'a Columns<'a>,
    rows: Range<usize>,
}

impl Run<'_> {
    fn within(self, times: &Range<i64>) -> Self {
        let start = self.rows.start + self.times().partition_point(|time| *time < times.start);
        let end = self.rows.start + self.times().partition_point(|time| *time < times.end);
        Self { rows: start..end.max(start), ..self }
    }

    pub(crate) fn times(&self) -> &[i64] {
        &self.columns.time.values()[self.rows.clone()]
    }

    pub(crate) fn qualities(&self) -> &[u8] {
        &self.columns.quality.values()[self.rows.clone()]
    }

    /// The values, if none of them is a text.
    pub(crate) fn numbers(&self) -> Option<&[f64]> {
        let texts = self.columns.text.nulls().map(|nulls| nulls.slice(self.rows.start, self.rows.len()));
        let all_numbers = texts.is_some_and(|nulls| nulls.null_count() == self.rows.len());
        all_numbers.then(|| &self.columns.value.values()[self.rows.clone()])
    }

    /// A row; `last` is the text of the row before, which the next one mostly repeats.
    pub(crate) fn row(&self, index: usize, last: &mut Option<Arc<str>>) -> Row {
        let index = self.rows.start + index;
        let value = if self.columns.text.is_valid(index) {
            let text = self.columns.text.value(index);
            let shared = last.take().filter(|last| **last == *text).unwrap_or_else(|| text.into());
            Value::Text(last.insert(shared).clone())
        } else {
            Value::Number(self.columns.value.value(index))
        };
        Row { time: self.columns.time.value(index), value, quality: self.columns.quality.value(index) }
    }
}

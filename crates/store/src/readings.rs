//! Readings on their way out: hot and sealed ones together, in order.

use std::ops::Range;

use reading::{LineIndex, Quality, Reading, Span, Timestamp, Value};
use rusqlite::{Connection, params};

use crate::Store;
use crate::error::{Cause, StoreError};
use crate::segment::{catalogue, day_of};
use crate::tags::TagId;

/// Readings are handed out by stretches of this length, aligned to the clock.
const STRETCH: Span = Span::minutes(60);

impl Store {
    /// The readings of one line, or of all, with `from <= time < to`, in order of time, then
    /// signal: an hour at a time, so that a year needs no more memory than an hour.
    ///
    /// Readings of tags that the config no longer has are passed over. What is stored while the
    /// iteration runs appears if its hour is still to come.
    #[must_use]
    pub fn readings(&self, line: Option<LineIndex>, from: Timestamp, to: Timestamp) -> Readings {
        Readings { store: self.clone(), tags: self.inner.tags.of_line(line), rest: from.0..to.0 }
    }

    /// Every reading of these tags and times.
    fn stretch(&self, tags: &[TagId], times: &Range<i64>) -> Result<Vec<Reading>, StoreError> {
        self.inner.database.read("read readings", |snapshot| {
            let mut readings = Vec::new();
            let mut push = |tag, time, value, quality| {
                if let Some(signal) = self.inner.tags.signal(tag) {
                    let quality = Quality::from_code(quality);
                    readings.push(Reading { signal, time: Timestamp(time), value, quality });
                }
            };
            let mut select = snapshot.prepare_cached(
                "SELECT time, number, text, quality FROM reading WHERE tag = ?1 AND time >= ?2 AND time < ?3",
            )?;
            for &tag in tags {
                let mut rows = select.query(params![tag, times.start, times.end])?;
                while let Some(row) = rows.next()? {
                    push(tag, row.get(0)?, value_of(row)?, row.get(3)?);
                }
            }
            for part in catalogue::overlapping(snapshot, tags, times)? {
                self.inner.segments.read(&part, times, |tag, row| push(tag, row.time, row.value, row.quality))?;
            }
            // Each tag's rows come in order of time: a sort that keeps runs together merges them.
            readings.sort_by_key(|reading| (reading.time, reading.signal));
            Ok(readings)
        })
    }
}

/// The value of a hot row: its columns 1 and 2 are `number` and `text`.
pub(crate) fn value_of(row: &rusqlite::Row) -> rusqlite::Result<Value> {
    match row.get(1)? {
        Some(number) => Ok(Value::Number(number)),
        None => Ok(Value::Text(row.get(2)?)),
    }
}

/// Iterates over stored readings, see [`Store::readings`]. No item is empty; after an error there
/// are no more.
pub struct Readings {
    store: Store,
    tags: Vec<TagId>,
    rest: Range<i64>,
}

impl Iterator for Readings {
    type Item = Result<Vec<Reading>, StoreError>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let readings = self.next_stretch().transpose()?;
            match readings {
                Ok(readings) if readings.is_empty() => {}
                Ok(readings) => return Some(Ok(readings)),
                Err(error) => {
                    self.rest.start = self.rest.end;
                    return Some(Err(error));
                }
            }
        }
    }
}

impl Readings {
    /// The readings of the next stretch that may have some; `None` after the last.
    fn next_stretch(&mut self) -> Result<Option<Vec<Reading>>, StoreError> {
        let next = self
            .store
            .inner
            .database
            .read("read readings", |snapshot| next_time(snapshot, &self.tags, self.rest.start))?;
        let Some(start) = next.filter(|next| *next < self.rest.end) else { return Ok(None) };
        let end = (Timestamp(start).floor(STRETCH) + STRETCH).0.min(self.rest.end);
        let readings = self.store.stretch(&self.tags, &(start..end))?;
        self.rest.start = end;
        Ok(Some(readings))
    }
}

/// A time not before this one, and not after the first reading from here on: a gap of weeks is
/// jumped over.
fn next_time(snapshot: &Connection, tags: &[TagId], from: i64) -> Result<Option<i64>, Cause> {
    let mut hot = snapshot.prepare_cached("SELECT min(time) FROM reading WHERE tag = ?1 AND time >= ?2")?;
    let mut sealed = snapshot.prepare_cached("SELECT first FROM segment_tag WHERE tag = ?1 AND last >= ?2")?;
    let mut next: Option<i64> = None;
    for &tag in tags {
        let hot: Option<i64> = hot.query_row(params![tag, from], |row| row.get(0))?;
        // In order of the last time, so the first of a later day can't be the earliest.
        let mut rows = sealed.query(params![tag, from])?;
        let mut sealed: Option<i64> = None;
        while let Some(row) = rows.next()? {
            let first: i64 = row.get(0)?;
            if sealed.is_some_and(|earliest| day_of(first) > day_of(earliest)) {
                break;
            }
            sealed = Some(sealed.map_or(first, |earliest| earliest.min(first)));
        }
        next = next.into_iter().chain(hot).chain(sealed.map(|first| first.max(from))).min();
    }
    Ok(next)
}

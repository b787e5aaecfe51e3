//! Readings on their way out: hot and sealed ones together.

use std::ops::Range;
use std::sync::Arc;

use reading::{LineIndex, NumberColumns, Quality, Reading, SignalId, Span, Timestamp, Value};
use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::Store;
use crate::error::{Cause, StoreError};
use crate::segment::catalogue;
use crate::tags::{Tag, TagId};

/// Readings are handed out by stretches of this length, aligned to the clock.
const STRETCH: Span = Span::minutes(60);

/// Columns are put together by longer stretches: each opens its segments once.
const LONG_STRETCH: Span = Span::minutes(24 * 60);

impl Store {
    /// The readings of one line, or of all, with `from <= time < to`, in order of time, then
    /// signal: an hour at a time, so that a year needs no more memory than an hour.
    ///
    /// Readings of tags that the config no longer has are passed over. What is stored while the
    /// iteration runs appears if its hour is still to come.
    #[must_use]
    pub fn readings(&self, line: Option<LineIndex>, from: Timestamp, to: Timestamp) -> Readings {
        Readings { store: self.clone(), tags: self.inner.tags.of_line(line), rest: from.0..to.0, stretch: STRETCH }
    }

    /// The numeric readings of one line with `from <= time < to`, in order of time, then signal.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn numbers(&self, line: LineIndex, from: Timestamp, to: Timestamp) -> Result<NumberColumns, StoreError> {
        let mut columns = NumberColumns::default();
        for stretch in (Readings { stretch: LONG_STRETCH, ..self.readings(Some(line), from, to) }) {
            for reading in stretch? {
                if let Value::Number(number) = reading.value {
                    columns.push(reading.signal, reading.time, number, reading.quality.code());
                }
            }
        }
        Ok(columns)
    }

    /// The last text of a signal before a moment, unless the plant called it bad: the product in
    /// force when the moment began.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn last_text_before(
        &self,
        signal: SignalId,
        time: Timestamp,
    ) -> Result<Option<(Timestamp, Arc<str>)>, StoreError> {
        self.inner.database.read("find a text", |snapshot| {
            let tag = self.inner.tags.of_signal(signal)?;
            let hot = last_hot_text(snapshot, tag, time.0)?;
            let sealed = self.last_sealed_text(snapshot, tag, time.0)?;
            Ok(hot.max(sealed).map(|(time, text)| (Timestamp(time), text)))
        })
    }

    /// The times of the first and the last reading; `None` of an empty store.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn span(&self) -> Result<Option<(Timestamp, Timestamp)>, StoreError> {
        self.inner.database.read("find the span of the store", |snapshot| {
            let hot = "SELECT min(first), max(last) FROM (SELECT
                           (SELECT min(time) FROM reading WHERE tag = tag.id) AS first,
                           (SELECT max(time) FROM reading WHERE tag = tag.id) AS last FROM tag)";
            let sealed = "SELECT min(first), max(last) FROM segment";
            let ends = |sql| snapshot.query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?)));
            let (hot, sealed): ((Option<i64>, Option<i64>), (Option<i64>, Option<i64>)) = (ends(hot)?, ends(sealed)?);
            let first = hot.0.into_iter().chain(sealed.0).min();
            let last = hot.1.into_iter().chain(sealed.1).max();
            Ok(first.zip(last).map(|(first, last)| (Timestamp(first), Timestamp(last))))
        })
    }

    /// Every tag the store has ever been given, in order of the names.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn tags(&self) -> Result<Vec<Tag>, StoreError> {
        self.inner.database.read("list the tags", |snapshot| {
            let mut select = snapshot.prepare_cached("SELECT id, name, line FROM tag ORDER BY name")?;
            let tags = select.query_map([], |row| {
                Ok(Tag { signal: self.inner.tags.signal(row.get(0)?), name: row.get(1)?, line: row.get(2)? })
            })?;
            Ok(tags.collect::<Result<_, _>>()?)
        })
    }

    fn last_sealed_text(
        &self,
        snapshot: &Transaction,
        tag: TagId,
        time: i64,
    ) -> Result<Option<(i64, Arc<str>)>, Cause> {
        let mut found: Option<(i64, Arc<str>)> = None;
        let mut ends = snapshot
            .prepare_cached("SELECT DISTINCT last FROM segment_tag WHERE tag = ?1 AND first < ?2 ORDER BY last DESC")?;
        let mut ends = ends.query(params![tag, time])?;
        while let Some(row) = ends.next()? {
            let last: i64 = row.get(0)?;
            if found.as_ref().is_some_and(|(time, _)| *time >= last) {
                break;
            }
            for part in catalogue::overlapping(snapshot, &[tag], &(last..last + 1))? {
                self.inner.segments.read(&part, &(i64::MIN..time), |_, row| {
                    let later = found.as_ref().is_none_or(|(time, _)| row.time > *time);
                    if let Value::Text(text) = row.value
                        && later
                        && Quality::from_code(row.quality) != Quality::Bad
                    {
                        found = Some((row.time, text));
                    }
                })?;
            }
        }
        Ok(found)
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
    stretch: Span,
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
        let end = (Timestamp(start).floor(self.stretch) + self.stretch).0.min(self.rest.end);
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
            if sealed.is_some_and(|earliest| crate::segment::day_of(first) > crate::segment::day_of(earliest)) {
                break;
            }
            sealed = Some(sealed.map_or(first, |earliest| earliest.min(first)));
        }
        next = next.into_iter().chain(hot).chain(sealed.map(|first| first.max(from))).min();
    }
    Ok(next)
}

fn last_hot_text(snapshot: &Connection, tag: TagId, time: i64) -> Result<Option<(i64, Arc<str>)>, Cause> {
    let mut select = snapshot.prepare_cached(
        "SELECT time, text FROM reading
         WHERE tag = ?1 AND time < ?2 AND text IS NOT NULL AND quality >= ?3 ORDER BY time DESC LIMIT 1",
    )?;
    let not_bad = Quality::Uncertain.code();
    Ok(select.query_row(params![tag, time, not_bad], |row| Ok((row.get(0)?, row.get(1)?))).optional()?)
}

//! Texts in force: which product a line was on at a moment.

use std::sync::Arc;

use reading::{Quality, SignalId, Timestamp, Value};
use rusqlite::{Connection, OptionalExtension, Transaction, params};

use crate::Store;
use crate::error::{Cause, StoreError};
use crate::segment::catalogue;
use crate::tags::TagId;

impl Store {
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
}

fn last_hot_text(snapshot: &Connection, tag: TagId, time: i64) -> Result<Option<(i64, Arc<str>)>, Cause> {
    let mut select = snapshot.prepare_cached(
        "SELECT time, text FROM reading
         WHERE tag = ?1 AND time < ?2 AND text IS NOT NULL AND quality >= ?3 ORDER BY time DESC LIMIT 1",
    )?;
    let not_bad = Quality::Uncertain.code();
    Ok(select.query_row(params![tag, time, not_bad], |row| Ok((row.get(0)?, row.get(1)?))).optional()?)
}

//! From hot to sealed: hours that are over leave `hot.db` for a segment.

use std::collections::BTreeSet;
use std::fs::{File, TryLockError};
use std::io;
use std::ops::Range;
use std::sync::atomic::Ordering;

use reading::{Span, Timestamp};
use rusqlite::{Transaction, params};

use crate::Store;
use crate::error::{Cause, StoreError};
use crate::readings::value_of;
use crate::segment::publish::Place;
use crate::segment::{Extent, Part, Row, Segments, day_of, day_range};
use crate::tags::{self, TagId};

/// An hour is sealed when it has been over for this long, unless the config says otherwise: what
/// comes later than that comes rarely.
pub const SEAL_AFTER: Span = Span::minutes(120);

const HOUR: Span = Span::minutes(60);

/// What a call of [`Store::seal`] has done.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Sealed {
    /// Segments made from hot readings.
    pub segments: usize,
    /// Readings moved into them.
    pub readings: usize,
    /// Days of a line whose segments were joined to one.
    pub joined_days: usize,
}

impl Store {
    /// Seals every hour (UTC) that was over [`SEAL_AFTER`] before `now`, and joins the segments of
    /// days that are over. Readings that come later than that go into a segment of their own at
    /// the next call; a few of them are not worth rewriting a day for and stay apart.
    ///
    /// To be called every ten minutes or so, from any thread: readings are taken in and read
    /// meanwhile. Calls, also those of other processes, wait for each other.
    ///
    /// # Errors
    /// What was not sealed is hot as before, and the next call tries again. See [`StoreError`].
    pub fn seal(&self, now: Timestamp) -> Result<Sealed, StoreError> {
        self.seal_until(now - SEAL_AFTER)
    }

    /// The same for every hour that was over at `until`.
    ///
    /// # Errors
    /// As [`seal`](Self::seal).
    pub fn seal_until(&self, until: Timestamp) -> Result<Sealed, StoreError> {
        self.tidily(|| self.seal_and_join(until.floor(HOUR)))
    }

    /// Does something with the files of the store while nobody else does, in this process or others.
    pub(crate) fn tidily<T>(&self, act: impl FnOnce() -> Result<T, StoreError>) -> Result<T, StoreError> {
        let _alone = self.lock_sealing()?;
        // Files that a failed call left behind must be gone before their rows are sealed again.
        if self.inner.untidy.swap(true, Ordering::SeqCst) {
            self.tidy()?;
        }
        let done = act()?;
        self.inner.untidy.store(false, Ordering::SeqCst);
        Ok(done)
    }

    fn seal_and_join(&self, until: Timestamp) -> Result<Sealed, StoreError> {
        let mut sealed = Sealed::default();
        for line in self.stored_lines()? {
            while let Some(day) = self.oldest_hot_day(&line, until)? {
                sealed.readings += self.seal_day(&line, day, until)?;
                sealed.segments += 1;
            }
        }
        sealed.joined_days = self.join_days(until)?;
        self.inner.database.shrink()?;
        Ok(sealed)
    }

    /// Holds off every other call, in this process and others, until dropped.
    pub(crate) fn lock_sealing(&self) -> Result<File, StoreError> {
        self.sealing_lock(|file| file.lock())
    }

    /// The same if nobody else holds it; `None` otherwise.
    pub(crate) fn try_lock_sealing(&self) -> Result<Option<File>, StoreError> {
        let mut held = true;
        let file = self.sealing_lock(|file| match file.try_lock() {
            Err(TryLockError::WouldBlock) => {
                held = false;
                Ok(())
            }
            Err(TryLockError::Error(error)) => Err(error),
            Ok(()) => Ok(()),
        })?;
        Ok(held.then_some(file))
    }

    fn sealing_lock(&self, lock: impl FnOnce(&File) -> io::Result<()>) -> Result<File, StoreError> {
        let path = self.inner.folder.join("seal.lock");
        let open = || {
            let file = File::create(&path)?;
            lock(&file)?;
            Ok(file)
        };
        open().map_err(|error: io::Error| Cause::from(error).during("seal readings", &path))
    }

    /// Seals what is hot of one line and day before `until`.
    fn seal_day(&self, line: &str, day: i64, until: Timestamp) -> Result<usize, StoreError> {
        let times = day_range(day).start..day_range(day).end.min(until.0);
        self.publish(
            &Place { line, day, joins: &[] },
            |snapshot, writer| {
                for (tag, name) in tags::stored_of_line(snapshot, line)? {
                    writer.write_tag(tag, &name, &hot_rows(snapshot, tag, &times)?)?;
                }
                Ok(())
            },
            |transaction, part| drop_sealed(transaction, &self.inner.segments, part, &times),
        )
    }

    fn stored_lines(&self) -> Result<BTreeSet<String>, StoreError> {
        self.inner.database.read("list the lines", |snapshot| {
            let mut select = snapshot.prepare_cached("SELECT DISTINCT line FROM tag")?;
            Ok(select.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?)
        })
    }

    /// The day of the line's oldest hot reading before `until`.
    fn oldest_hot_day(&self, line: &str, until: Timestamp) -> Result<Option<i64>, StoreError> {
        self.inner.database.read("find readings to seal", |snapshot| {
            let mut select = snapshot.prepare_cached(
                "SELECT min(oldest) FROM
                 (SELECT (SELECT min(time) FROM reading WHERE tag = tag.id) AS oldest FROM tag WHERE line = ?1)",
            )?;
            let oldest: Option<i64> = select.query_row([line], |row| row.get(0))?;
            Ok(oldest.filter(|oldest| *oldest < until.0).map(day_of))
        })
    }
}

fn hot_rows(snapshot: &Transaction, tag: TagId, times: &Range<i64>) -> Result<Vec<Row>, Cause> {
    let mut select = snapshot.prepare_cached(
        "SELECT time, number, text, quality FROM reading WHERE tag = ?1 AND time >= ?2 AND time < ?3 ORDER BY time",
    )?;
    let rows = select.query_map(params![tag, times.start, times.end], |row| {
        Ok(Row { time: row.get(0)?, value: value_of(row)?, quality: row.get(3)? })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Drops the hot rows that the segment holds, and no other: some may have come in since it was
/// written.
fn drop_sealed(transaction: &Transaction, segments: &Segments, part: &Part, times: &Range<i64>) -> Result<(), Cause> {
    let mut count =
        transaction.prepare_cached("SELECT count(*) FROM reading WHERE tag = ?1 AND time >= ?2 AND time < ?3")?;
    let mut drop_all = transaction.prepare_cached("DELETE FROM reading WHERE tag = ?1 AND time >= ?2 AND time < ?3")?;
    let mut drop_one = transaction.prepare_cached("DELETE FROM reading WHERE tag = ?1 AND time = ?2")?;
    for &extent in &part.extents {
        let Extent { tag, rows, .. } = extent;
        let hot: usize = count.query_row(params![tag, times.start, times.end], |row| row.get(0))?;
        // Rows only ever go here, so an equal number means the same rows.
        if hot == rows {
            drop_all.execute(params![tag, times.start, times.end])?;
            continue;
        }
        let mut sealed = Vec::with_capacity(rows);
        let only = Part { extents: vec![extent], ..part.clone() };
        segments.read(&only, times, |_, row| sealed.push(row.time))?;
        for time in sealed {
            drop_one.execute([tag, time])?;
        }
    }
    Ok(())
}

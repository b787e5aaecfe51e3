//! Old readings make room, if the config says so. By default they are kept for ever.
//!
//! Whole days go, and only what is sealed of them: what is hot is sealed first, and goes another time.

use std::fs;

use reading::Timestamp;
use rusqlite::Transaction;

use crate::Store;
use crate::error::{At, Cause, StoreError};
use crate::segment::catalogue::{self, Listed};
use crate::segment::day_of;

impl Store {
    /// Drops the sealed readings of every day (UTC) that was over at `time`. Returns how many
    /// readings that were. Alerts stay. A dropped reading that is handed over again is new again.
    ///
    /// # Errors
    /// Some of the days may be left; the next call tries again. See [`StoreError`].
    pub fn drop_before(&self, time: Timestamp) -> Result<usize, StoreError> {
        self.drop_segments(|transaction| catalogue::before_day(transaction, day_of(time.0)))
    }

    /// Drops the sealed readings of the oldest days (UTC) until the whole store, the database included, takes at most
    /// `bytes`. The newest sealed day stays in any case. Otherwise as [`drop_before`](Self::drop_before).
    ///
    /// # Errors
    /// Some of the days may be left; the next call tries again. See [`StoreError`].
    pub fn drop_above(&self, bytes: u64) -> Result<usize, StoreError> {
        let room = bytes.saturating_sub(self.hot_bytes());
        self.drop_segments(|transaction| {
            let mut segments = catalogue::before_day(transaction, i64::MAX)?;
            let mut kept: u64 = segments.iter().map(|segment| segment.bytes).sum();
            let newest = segments.last().map(|segment| segment.day);
            let mut dropped = 0;
            for day in segments.chunk_by(|a, b| a.day == b.day) {
                if kept <= room || day.first().map(|segment| segment.day) == newest {
                    break;
                }
                kept -= day.iter().map(|segment| segment.bytes).sum::<u64>();
                dropped += day.len();
            }
            segments.truncate(dropped);
            Ok(segments)
        })
    }

    fn drop_segments(
        &self,
        choose: impl FnOnce(&Transaction) -> Result<Vec<Listed>, Cause>,
    ) -> Result<usize, StoreError> {
        self.tidily(|| {
            let dropped = self.inner.database.write("drop old readings", |transaction, _| {
                let segments = choose(transaction)?;
                for segment in &segments {
                    catalogue::remove(transaction, segment.id)?;
                }
                if !segments.is_empty() {
                    catalogue::mark_changed(transaction)?;
                }
                Ok(segments)
            })?;
            let remove = || dropped.iter().try_for_each(|segment| self.remove_file(segment));
            remove().map_err(|cause| cause.during("remove old readings", &self.inner.folder))?;
            Ok(dropped.iter().map(|segment| segment.rows).sum::<i64>().unsigned_abs() as usize)
        })
    }

    /// Removes a segment's file; the folder of the day goes with its last one.
    fn remove_file(&self, segment: &Listed) -> Result<(), Cause> {
        let path = self.inner.folder.join(&segment.path);
        self.inner.disk.remove(&path).at(&path)?;
        if let Some(folder) = path.parent() {
            fs::remove_dir(folder).ok();
        }
        Ok(())
    }
}

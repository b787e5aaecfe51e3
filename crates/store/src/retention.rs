//! Old readings make room, if the config says so. By default they are kept for ever.

use std::fs;

use reading::Timestamp;

use crate::Store;
use crate::error::{At, Cause, StoreError};
use crate::segment::{catalogue, day_of};

impl Store {
    /// Drops the sealed readings of every day (UTC) that was over at `time`. Returns how many
    /// readings that were. Alerts stay. A dropped reading that is handed over again is new again.
    ///
    /// # Errors
    /// Some of the days may be left; the next call tries again. See [`StoreError`].
    pub fn drop_before(&self, time: Timestamp) -> Result<usize, StoreError> {
        let _alone = self.lock_sealing()?;
        let dropped = self.inner.database.write("drop old readings", |transaction, _| {
            let segments = catalogue::before_day(transaction, day_of(time.0))?;
            for segment in &segments {
                catalogue::remove(transaction, segment.id)?;
            }
            if !segments.is_empty() {
                catalogue::mark_changed(transaction)?;
            }
            Ok(segments)
        })?;
        let remove = || {
            for segment in &dropped {
                let path = self.inner.folder.join(&segment.path);
                fs::remove_file(&path).at(&path)?;
                // The folder of the day goes with its last file.
                if let Some(folder) = path.parent() {
                    fs::remove_dir(folder).ok();
                }
            }
            Ok(())
        };
        remove().map_err(|cause: Cause| cause.during("remove old readings", &self.inner.folder))?;
        Ok(dropped.iter().map(|segment| segment.rows).sum::<i64>().unsigned_abs() as usize)
    }
}

//! The sealed files, for whoever copies them elsewhere.

use std::io::Read;
use std::path::PathBuf;

use chrono::NaiveDate;
use reading::Timestamp;

use crate::Store;
use crate::disk::Content;
use crate::error::{Cause, StoreError};
use crate::segment::{date_of, day_of};

/// A file of sealed readings. It never changes; joining and dropping remove it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SealedFile {
    /// The line's id.
    pub line: String,
    /// The day (UTC) of its readings.
    pub date: NaiveDate,
    /// Relative to the store's folder.
    pub path: PathBuf,
    /// How many readings it holds.
    pub rows: u64,
    /// Its size.
    pub bytes: u64,
    /// XXH64 of it; none where an earlier version wrote it and it was never verified.
    pub checksum: Option<i64>,
}

impl Store {
    /// The files of every day (UTC) that was over at `time`: together they hold each sealed reading once.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn sealed_before(&self, time: Timestamp) -> Result<Vec<SealedFile>, StoreError> {
        self.inner.database.read("list the sealed files", |snapshot| {
            let mut select = snapshot.prepare_cached(
                "SELECT line, day, path, rows, bytes, checksum FROM segment WHERE day < ?1 ORDER BY day, line, id",
            )?;
            let files = select.query_map([day_of(time.0)], |row| {
                Ok(SealedFile {
                    line: row.get(0)?,
                    date: date_of(row.get(1)?),
                    path: PathBuf::from(row.get::<_, String>(2)?),
                    rows: row.get(3)?,
                    bytes: row.get(4)?,
                    checksum: row.get(5)?,
                })
            })?;
            Ok(files.collect::<Result<_, _>>()?)
        })
    }

    /// The content of a sealed file, held against its size and checksum; `None` if it was joined or dropped meanwhile.
    ///
    /// # Errors
    /// It cannot be read, or is not what was written. See [`StoreError`].
    pub fn read_sealed(&self, file: &SealedFile) -> Result<Option<Vec<u8>>, StoreError> {
        let path = self.inner.folder.join(&file.path);
        let read = || -> Result<Vec<u8>, Cause> {
            let mut bytes = Vec::new();
            self.inner.disk.open(&path)?.read_to_end(&mut bytes)?;
            let content = Content::of(&bytes);
            if content.bytes != file.bytes || file.checksum.is_some_and(|checksum| checksum != content.checksum) {
                return Err(Cause::Wrong("its content is not what was written; restore it from a copy".into()));
            }
            Ok(bytes)
        };
        match read() {
            Ok(bytes) => Ok(Some(bytes)),
            Err(cause) if cause.is_missing_file() => Ok(None),
            Err(cause) => Err(cause.during("copy a sealed file", &path)),
        }
    }
}

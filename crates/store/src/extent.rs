//! What the store has: its tags, its span, its size.

use std::fs;

use reading::Timestamp;

use crate::Store;
use crate::error::StoreError;
use crate::tags::Tag;

/// How much the store keeps, and what that takes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Size {
    /// Readings in the database.
    pub hot_readings: u64,
    /// The database and its log, bytes; alerts and the rest included.
    pub hot_bytes: u64,
    /// Segments.
    pub segments: usize,
    /// Readings in them.
    pub sealed_readings: u64,
    /// Their files, bytes.
    pub sealed_bytes: u64,
    /// Room left on the disk, bytes; `None` where that cannot be told.
    pub free_bytes: Option<u64>,
}

impl Size {
    /// Bytes a sealed reading takes; `None` before anything is sealed.
    #[must_use]
    pub fn bytes_per_sealed_reading(&self) -> Option<f64> {
        (self.sealed_readings > 0).then(|| self.sealed_bytes as f64 / self.sealed_readings as f64)
    }
}

impl Store {
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
            let ends = |sql| -> rusqlite::Result<(Option<i64>, Option<i64>)> {
                snapshot.query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?)))
            };
            let (hot, sealed) = (ends(hot)?, ends(sealed)?);
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

    /// How much the store keeps. Counts the hot readings one by one.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn size(&self) -> Result<Size, StoreError> {
        self.inner.database.read("measure the store", |snapshot| {
            let hot_readings = snapshot.query_row("SELECT count(*) FROM reading", [], |row| row.get(0))?;
            let sealed = "SELECT count(*), ifnull(sum(rows), 0), ifnull(sum(bytes), 0) FROM segment";
            let (segments, sealed_readings, sealed_bytes) =
                snapshot.query_row(sealed, [], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
            let (hot_bytes, free_bytes) = (self.hot_bytes(), self.free_bytes());
            Ok(Size { hot_readings, hot_bytes, segments, sealed_readings, sealed_bytes, free_bytes })
        })
    }

    /// About how many readings of all tags there are with `from <= time < to`: those in segments are taken to lie
    /// evenly between the first and the last of their tag.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn about_how_many(&self, from: Timestamp, to: Timestamp) -> Result<u64, StoreError> {
        self.inner.database.read("count readings", |snapshot| {
            let hot: f64 = snapshot.query_row(
                "SELECT total((SELECT count(*) FROM reading WHERE tag = tag.id AND time >= ?1 AND time < ?2)) FROM tag",
                [from.0, to.0],
                |row| row.get(0),
            )?;
            let sealed: f64 = snapshot.query_row(
                "SELECT total(rows * (min(last + 1, ?2) - max(first, ?1)) * 1.0 / (last + 1 - first))
                 FROM segment_tag WHERE last >= ?1 AND first < ?2",
                [from.0, to.0],
                |row| row.get(0),
            )?;
            Ok((hot + sealed).round() as u64)
        })
    }

    /// What somebody who is not root may still write, bytes.
    fn free_bytes(&self) -> Option<u64> {
        let disk = rustix::fs::statvfs(&self.inner.folder).ok()?;
        disk.f_bavail.checked_mul(disk.f_frsize)
    }

    /// The database and its log, bytes.
    pub(crate) fn hot_bytes(&self) -> u64 {
        let path = self.inner.database.path();
        let bytes = |suffix: &str| fs::metadata(format!("{}{suffix}", path.display())).map_or(0, |file| file.len());
        bytes("") + bytes("-wal")
    }
}

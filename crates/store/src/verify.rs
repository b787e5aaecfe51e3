//! Looking whether everything is what it was when it was stored, and putting right what can be put right without
//! losing anything.

use std::path::{Path, PathBuf};

use rusqlite::{Transaction, params};
use serde::Serialize;

use crate::Store;
use crate::disk::Content;
use crate::error::{Cause, StoreError};
use crate::segment::{Part, catalogue};

/// Something in the store that is not as it should be.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// The file concerned.
    pub file: PathBuf,
    /// What is wrong with it, and what to do or what was done.
    pub what: String,
    /// Whether it has been put right, and nothing is lost.
    pub repaired: bool,
}

impl Finding {
    /// Put right; the log hears of it.
    pub(crate) fn repaired(file: &Path, what: String) -> Self {
        tracing::warn!(file = %file.display(), "{what}");
        Self { file: file.to_owned(), what, repaired: true }
    }

    /// For a person; the log hears of it.
    pub(crate) fn left(file: &Path, what: String) -> Self {
        tracing::error!(file = %file.display(), "{what}");
        Self { file: file.to_owned(), what, repaired: false }
    }
}

impl Store {
    /// What was cleared up when the store was opened.
    #[must_use]
    pub fn found_at_opening(&self) -> &[Finding] {
        self.inner.found_at_opening.get().map_or(&[], Vec::as_slice)
    }

    /// Reads everything from end to end: the database by its own check, each segment against its checksum and, row by
    /// row, against the catalogue. Leftovers of a crash are cleared up. Sealing waits meanwhile.
    ///
    /// # Errors
    /// The catalogue can't be read or put right. See [`StoreError`].
    pub fn verify(&self) -> Result<Vec<Finding>, StoreError> {
        const DOING: &str = "verify the store";
        let _alone = self.lock_sealing()?;
        let database = &self.inner.database;
        let (mut findings, parts) = database
            .read(DOING, |snapshot| Ok((self.check_database(snapshot)?, catalogue::parts_with_content(snapshot)?)))?;
        for (part, bytes, checksum) in parts {
            let path = self.inner.folder.join(&part.path);
            match self.check_segment(&part, bytes, checksum) {
                // Clearing up names it.
                Err(cause) if cause.is_missing_file() => {}
                Err(cause) => findings.push(Finding::left(&path, format!("{cause}; restore it from a copy"))),
                Ok(content) if checksum.is_none() => {
                    database.write(DOING, |transaction, _| note_checksum(transaction, &part, content))?;
                }
                Ok(_) => {}
            }
        }
        findings.extend(self.tidy()?);
        Ok(findings)
    }

    fn check_database(&self, snapshot: &Transaction) -> Result<Vec<Finding>, Cause> {
        let mut check = snapshot.prepare("PRAGMA integrity_check(10)")?;
        let lines: Vec<String> = check.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
        let wrong = lines.into_iter().filter(|line| line != "ok");
        Ok(wrong.map(|line| Finding::left(self.inner.database.path(), line)).collect())
    }

    /// The file is as long as it was and has its checksum, and each extent has as many rows as listed, at rising
    /// times, from the first to the last.
    fn check_segment(&self, part: &Part, bytes: u64, checksum: Option<i64>) -> Result<Content, Cause> {
        let content = self.inner.disk.content(&self.inner.folder.join(&part.path))?;
        if content.bytes != bytes {
            return Err(Cause::Wrong(format!("it has {} bytes and was written with {bytes}", content.bytes)));
        }
        if checksum.is_some_and(|checksum| checksum != content.checksum) {
            return Err(Cause::Wrong("its content is not what was written: the checksum differs".into()));
        }
        for &extent in &part.extents {
            let only = Part { extents: vec![extent], ..part.clone() };
            let mut times = Vec::with_capacity(extent.rows);
            self.inner.segments.read(&only, &(i64::MIN..i64::MAX), |_, row| times.push(row.time))?;
            let rising = times.is_sorted_by(|earlier, later| earlier < later);
            if times.len() != extent.rows
                || !rising
                || (times.first(), times.last()) != (Some(&extent.first), Some(&extent.last))
            {
                return Err(Cause::Wrong(format!(
                    "rows {} to {} are not what the catalogue says",
                    extent.first_row,
                    extent.first_row + extent.rows
                )));
            }
        }
        Ok(content)
    }
}

/// A segment of an earlier version had no checksum; its rows have just been looked at.
fn note_checksum(transaction: &Transaction, part: &Part, content: Content) -> Result<(), Cause> {
    transaction.execute("UPDATE segment SET checksum = ?2 WHERE id = ?1", params![part.segment, content.checksum])?;
    Ok(())
}

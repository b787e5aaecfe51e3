//! After a crash: files against the catalogue.
//!
//! Three things can be found. An unfinished file is of no use. A finished file that is not listed
//! holds rows that are still elsewhere (the crash came before the catalogue was changed, or after
//! it and before the joined files were removed), or rows that are nowhere else (the database was
//! lost or put back from a copy): nothing is thrown away before each of its rows is known to be
//! kept. A listed file that is gone is struck off, so that its readings can be loaded again.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::{Transaction, params};

use crate::Store;
use crate::commit::Inserter;
use crate::error::{At, Cause, StoreError};
use crate::sealed_keys::SealedKeys;
use crate::segment::catalogue::{self, NewSegment};
use crate::segment::file::{self, READINGS};
use crate::segment::inventory::Inventory;
use crate::segment::{Extent, Part, day_of};
use crate::tags;
use crate::verify::Finding;

const DOING: &str = "clear up after a crash";

impl Store {
    /// Brings files and catalogue into agreement, and gives what it found. To be called by the holder of the
    /// sealing lock.
    pub(crate) fn tidy(&self) -> Result<Vec<Finding>, StoreError> {
        let mut findings = Vec::new();
        let mut files = Vec::new();
        find_files(&self.inner.folder.join(READINGS), &mut files)
            .map_err(|cause| cause.during(DOING, &self.inner.folder))?;
        let (unfinished, finished): (Vec<_>, Vec<_>) = files.into_iter().partition(|path| file::is_unfinished(path));
        for path in unfinished {
            self.inner.disk.remove(&path).at(&path).map_err(|cause| cause.during(DOING, &path))?;
            findings.push(Finding::repaired(&path, "a crash left this unfinished file, now removed".into()));
        }
        let (unlisted, gone) = self.compare(finished.into_iter().collect())?;
        findings.extend(gone);
        for path in unlisted {
            findings.push(self.take_in(&path)?);
        }
        Ok(findings)
    }

    /// Strikes off what is gone, and names it; returns what is not listed as well.
    fn compare(&self, files: BTreeSet<PathBuf>) -> Result<(BTreeSet<PathBuf>, Vec<Finding>), StoreError> {
        let highest = files.iter().filter_map(|path| file::id_of(path)).max().unwrap_or(0);
        self.inner.database.write(DOING, |transaction, _| {
            // A new segment must never get the name of a file that is there.
            catalogue::use_no_id_up_to(transaction, highest)?;
            let (mut unlisted, mut gone) = (files, Vec::new());
            for segment in catalogue::all(transaction)? {
                let path = self.inner.folder.join(&segment.path);
                if !unlisted.remove(&path) {
                    let what =
                        format!("the file is gone, with {} readings: load them again, or restore it", segment.rows);
                    gone.push(Finding::left(&path, what));
                    catalogue::remove(transaction, segment.id)?;
                    catalogue::mark_changed(transaction)?;
                }
            }
            Ok((unlisted, gone))
        })
    }

    /// Keeps each row of a file that is not listed: by listing it, if nothing else lies where its
    /// rows lie, or else by storing what is missing and removing it.
    fn take_in(&self, path: &Path) -> Result<Finding, StoreError> {
        let inventory = match Inventory::of(&self.inner.disk, path) {
            Ok(inventory) => inventory,
            // Perhaps it can be read another time. Until then its rows must not be sealed once more.
            Err(cause) if cause.io().is_some() => return Err(cause.during(DOING, path)),
            Err(cause) => {
                return Ok(Finding::left(path, format!("the file is not the store's, and is left alone: {cause}")));
            }
        };
        let taken = self.inner.database.write(DOING, |transaction, sealed| {
            let relative = path.strip_prefix(&self.inner.folder).unwrap_or(path).to_string_lossy().into_owned();
            let mut extents = Vec::with_capacity(inventory.tags.len());
            for (name, extent) in &inventory.tags {
                extents.push(Extent { tag: tags::register(transaction, name, &inventory.line)?, ..*extent });
            }
            let part = Part { segment: None, path: relative, extents };
            if anything_there(transaction, &part)? {
                let new = self.insert_missing(transaction, sealed, &part)?;
                return Ok(Some(new));
            }
            let id = catalogue::newest(transaction)? + 1;
            let day = part.extents.first().map_or(0, |extent| day_of(extent.first));
            let (line, content) = (&*inventory.line, inventory.content);
            catalogue::add(
                transaction,
                &NewSegment { id, path: &part.path, line, day, content, extents: &part.extents },
            )?;
            Ok(None)
        })?;
        let Some(new) = taken else {
            return Ok(Finding::repaired(path, "the file was not listed, and is now".into()));
        };
        self.inner.disk.remove(path).at(path).map_err(|cause| cause.during(DOING, path))?;
        Ok(Finding::repaired(
            path,
            format!("the file was left by a crash; {new} readings were only in it, and are kept"),
        ))
    }

    /// Stores the rows of a part that are neither hot nor sealed. Returns how many.
    fn insert_missing(&self, transaction: &Transaction, sealed: &mut SealedKeys, part: &Part) -> Result<usize, Cause> {
        let mut inserter = Inserter::begin(transaction, sealed, &self.inner.segments)?;
        let mut new = 0;
        for &extent in &part.extents {
            let only = Part { extents: vec![extent], ..part.clone() };
            let mut rows = Vec::with_capacity(extent.rows);
            self.inner.segments.read(&only, &(extent.first..extent.last + 1), |_, row| rows.push(row))?;
            for row in rows {
                new += usize::from(inserter.insert(extent.tag, &row)?);
            }
        }
        Ok(new)
    }
}

/// Whether a hot or sealed reading lies between the first and the last of some tag of the part.
fn anything_there(transaction: &Transaction, part: &Part) -> Result<bool, Cause> {
    let mut select = transaction.prepare_cached(
        "SELECT EXISTS (SELECT 1 FROM reading WHERE tag = ?1 AND time >= ?2 AND time <= ?3)
             OR EXISTS (SELECT 1 FROM segment_tag WHERE tag = ?1 AND last >= ?2 AND first <= ?3)",
    )?;
    for extent in &part.extents {
        if select.query_row(params![extent.tag, extent.first, extent.last], |row| row.get(0))? {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Every segment's file below a folder, finished or not.
pub(crate) fn find_files(folder: &Path, found: &mut Vec<PathBuf>) -> Result<(), Cause> {
    if !folder.exists() {
        return Ok(());
    }
    for entry in fs::read_dir(folder).at(folder)? {
        let entry = entry.at(folder)?;
        let path = entry.path();
        if entry.file_type().at(&path)?.is_dir() {
            find_files(&path, found)?;
        } else if file::is_unfinished(&path) || file::is_finished(&path) {
            found.push(path);
        }
    }
    Ok(())
}

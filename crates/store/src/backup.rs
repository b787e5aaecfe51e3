//! A copy of the store, taken while it works.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::Store;
use crate::error::{At, Cause, StoreError};
use crate::segment::file::READINGS;
use crate::segment::{catalogue, file};
use crate::tidy::find_files;

const DOING: &str = "back the store up";

/// What a backup has done.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct BackedUp {
    /// Segments copied; those that an earlier backup has copied are not copied again.
    pub copied: usize,
    /// Their size, bytes.
    pub bytes: u64,
    /// Segments of the earlier backup that the store no longer has, removed.
    pub removed: usize,
}

impl Store {
    /// Copies the store into a folder, as it is at one moment; the copy is opened like any store. Into a folder that
    /// holds an earlier backup only what is new is copied. Readings are taken in meanwhile; sealing waits only while
    /// the last of it is copied. A backup that is cut short leaves the earlier one as it was.
    ///
    /// # Errors
    /// The folder is the store's own or somebody works in it as in a store, or it can't be written. See [`StoreError`].
    pub fn backup(&self, to: &Path) -> Result<BackedUp, StoreError> {
        self.prepare(to).map_err(|cause| cause.during(DOING, to))?;
        let mut done = BackedUp::default();
        // Most of it without holding anybody up. What is joined meanwhile is caught up with below.
        if let Err(error) = self.copy_segments(to, &mut done)
            && !error.is_missing_file()
        {
            return Err(error.during(DOING, to));
        }
        let _alone = self.lock_sealing()?;
        let listed = self.copy_segments(to, &mut done).map_err(|cause| cause.during(DOING, to))?;
        self.copy_database(to).map_err(|cause| cause.during(DOING, to))?;
        done.removed = remove_others(to, &listed).map_err(|cause| cause.during(DOING, to))?;
        Ok(done)
    }

    fn prepare(&self, to: &Path) -> Result<(), Cause> {
        fs::create_dir_all(to)?;
        if to.canonicalize()?.starts_with(self.inner.folder.canonicalize()?) {
            return Err(Cause::Wrong("that is within the store itself: name a folder elsewhere".into()));
        }
        if to.join("hot.db-wal").exists() {
            return Err(Cause::Wrong("somebody works in that folder as in a store: name another".into()));
        }
        Ok(())
    }

    /// Copies the listed segments that are not there yet; gives the paths of all that are listed.
    fn copy_segments(&self, to: &Path, done: &mut BackedUp) -> Result<BTreeSet<PathBuf>, Cause> {
        let listed =
            self.inner.database.read(DOING, |snapshot| catalogue::all(snapshot)).map_err(StoreError::into_cause)?;
        let mut paths = BTreeSet::new();
        for segment in listed {
            let (from, copy) = (self.inner.folder.join(&segment.path), to.join(&segment.path));
            let there = fs::metadata(&copy).is_ok_and(|file| file.len() == segment.bytes);
            if !there {
                done.bytes += self.copy_file(&from, &copy)?;
                done.copied += 1;
            }
            paths.insert(copy);
        }
        Ok(paths)
    }

    /// Copies a file under a temporary name and gives it its own when it is whole.
    fn copy_file(&self, from: &Path, to: &Path) -> Result<u64, Cause> {
        let (Some(folder), Some(name)) = (to.parent(), to.file_name().and_then(|name| name.to_str())) else {
            return Err(Cause::Wrong(format!("{} is no name of a file", to.display())));
        };
        let disk = &self.inner.disk;
        disk.create_folder(folder).at(folder)?;
        let temporary = folder.join(file::unfinished_name(name));
        let mut output = disk.create(&temporary).at(&temporary)?;
        let bytes = std::io::copy(&mut disk.open(from).at(from)?, &mut output).at(&temporary)?;
        output.sync().at(&temporary)?;
        disk.rename(&temporary, to).at(to)?;
        disk.sync_folder(folder).at(folder)?;
        Ok(bytes)
    }

    /// Last of all: until it has its name, the folder holds the earlier backup and some files more.
    fn copy_database(&self, to: &Path) -> Result<(), Cause> {
        let (temporary, copy) = (to.join(".hot.db.unfinished"), to.join("hot.db"));
        if temporary.exists() {
            fs::remove_file(&temporary).at(&temporary)?;
        }
        self.inner.database.copy_into(&temporary)?;
        fs::File::open(&temporary)?.sync_all().at(&temporary)?;
        fs::rename(&temporary, &copy).at(&copy)?;
        fs::File::open(to)?.sync_all().at(to)
    }
}

/// Removes segments of an earlier backup that are no longer listed: they were joined, or are too old.
fn remove_others(to: &Path, listed: &BTreeSet<PathBuf>) -> Result<usize, Cause> {
    let mut found = Vec::new();
    find_files(&to.join(READINGS), &mut found)?;
    let others: Vec<PathBuf> = found.into_iter().filter(|path| !listed.contains(path)).collect();
    others.iter().try_for_each(|path| fs::remove_file(path).at(path))?;
    Ok(others.len())
}

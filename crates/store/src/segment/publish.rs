//! From rows to a listed segment, so that a crash at any point leaves the old state or the new.

use std::path::Path;

use rusqlite::Transaction;

use super::Part;
use super::catalogue::{self, NewSegment};
use super::file;
use super::write::SegmentWriter;
use crate::Store;
use crate::disk::{Content, Output};
use crate::error::{At, Cause, StoreError};

/// Which segment is to be made.
pub(crate) struct Place<'a> {
    pub(crate) line: &'a str,
    pub(crate) day: i64,
    /// The segments that it takes the place of.
    pub(crate) joins: &'a [i64],
}

impl Store {
    /// Makes one segment of what `fill` writes, and lists it in the same transaction in which
    /// `replace` drops the rows or segments that it holds from now on. Returns how many rows it has.
    ///
    /// To be called by the holder of the sealing lock only.
    pub(crate) fn publish(
        &self,
        place: &Place,
        mut fill: impl FnMut(&Transaction, &mut SegmentWriter) -> Result<(), Cause>,
        replace: impl FnOnce(&Transaction, &Part) -> Result<(), Cause>,
    ) -> Result<usize, StoreError> {
        const DOING: &str = "seal readings";
        let inner = &self.inner;
        let relative = file::folder(&inner.site, place.line, place.day);
        let folder = inner.folder.join(&relative);
        inner.disk.create_folder(&folder).at(&folder).map_err(|cause| cause.during(DOING, &folder))?;

        let (id, name, written) = inner.database.read(DOING, |snapshot| {
            let id = catalogue::newest(snapshot)? + 1;
            let name = file::name(id);
            let temporary = folder.join(file::unfinished_name(&name));
            let mut write = || {
                let mut writer = SegmentWriter::create(inner.disk.create(&temporary)?, &inner.site, place)?;
                fill(snapshot, &mut writer)?;
                writer.finish()
            };
            // On a full disk what there is of the file only makes things worse.
            let written = write().inspect_err(|_| _ = inner.disk.remove(&temporary)).at(&temporary)?;
            Ok((id, name, written))
        })?;
        let (file, extents) = written;
        let path = relative.join(&name);
        let part = Part { segment: None, path: path.to_string_lossy().into_owned(), extents };
        let content = self.settle(&folder, &name, &file).map_err(|cause| cause.during(DOING, &folder))?;

        inner.database.write(DOING, |transaction, _| {
            let (line, day) = (place.line, place.day);
            catalogue::add(
                transaction,
                &NewSegment { id, path: &part.path, line, day, content, extents: &part.extents },
            )?;
            replace(transaction, &part)
        })?;
        Ok(part.extents.iter().map(|extent| extent.rows).sum())
    }

    /// Gives a written file its name, for good. Returns what it holds.
    fn settle(&self, folder: &Path, name: &str, file: &Output) -> Result<Content, Cause> {
        let temporary = folder.join(file::unfinished_name(name));
        let disk = &self.inner.disk;
        let content = file.sync().at(&temporary)?;
        disk.rename(&temporary, &folder.join(name)).at(&temporary)?;
        // Up to the store's own folder: those between may be new as well.
        for folder in folder.ancestors().take_while(|folder| folder.starts_with(&self.inner.folder)) {
            disk.sync_folder(folder).at(folder)?;
        }
        Ok(content)
    }
}

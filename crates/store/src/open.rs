//! Opening the store.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use reading::Plant;

use crate::connection::Database;
use crate::disk::Disk;
use crate::error::{At, Cause, StoreError};
use crate::segment::Segments;
use crate::tags::Tags;
use crate::verify::Finding;

/// The store of one plant. A cheap handle: clones share everything, and any thread may use one.
#[derive(Clone)]
pub struct Store {
    pub(crate) inner: Arc<Inner>,
}

pub(crate) struct Inner {
    /// Everything the store keeps lies in here.
    pub(crate) folder: PathBuf,
    pub(crate) site: Arc<str>,
    pub(crate) database: Database,
    pub(crate) tags: Tags,
    pub(crate) segments: Segments,
    pub(crate) disk: Disk,
    /// What was cleared up when it was opened.
    pub(crate) found_at_opening: OnceLock<Vec<Finding>>,
    /// Whether something failed and may have left files behind.
    pub(crate) untidy: AtomicBool,
}

impl Store {
    /// Opens the store in this folder for this plant; creates what is not there, brings an older
    /// layout up to date, and clears up after a crash.
    ///
    /// # Errors
    /// The folder can't be written, the database is damaged or newer than this program. See
    /// [`StoreError`].
    pub fn open(folder: &Path, plant: &Plant) -> Result<Self, StoreError> {
        Self::open_on(Disk::plain(), folder, plant)
    }

    pub(crate) fn open_on(disk: Disk, folder: &Path, plant: &Plant) -> Result<Self, StoreError> {
        const DOING: &str = "open the store";
        let path = folder.join("hot.db");
        let database = prepare(folder, &path).map_err(|cause| cause.during(DOING, &path))?;
        let tags = database.write(DOING, |transaction, _| Tags::register(transaction, plant))?;
        let inner = Inner {
            folder: folder.to_owned(),
            site: plant.site.clone(),
            database,
            tags,
            segments: Segments::new(folder, disk.clone()),
            disk,
            found_at_opening: OnceLock::new(),
            untidy: AtomicBool::new(false),
        };
        let store = Self { inner: Arc::new(inner) };
        // Another process that seals just now has cleared up itself, and its files are no leftovers.
        if let Some(_alone) = store.try_lock_sealing()? {
            // Nothing is sealed before this has succeeded, but readings can be taken in.
            match store.tidy() {
                Ok(found) => _ = store.inner.found_at_opening.set(found),
                Err(error) => {
                    tracing::error!("{error}; it is tried again before readings are sealed");
                    store.inner.untidy.store(true, Ordering::SeqCst);
                }
            }
        }
        Ok(store)
    }

    /// Whether the store writes nothing since an I/O error, see [`StoreError::is_refusal`].
    #[must_use]
    pub fn refuses(&self) -> bool {
        self.inner.database.refuses()
    }

    /// Writes again after an I/O error, if the disk lets it: what was written before is made safe once more first.
    /// Does nothing to a store that does not refuse. To be tried again now and then.
    ///
    /// # Errors
    /// The disk still fails, and the store still refuses. See [`StoreError`].
    pub fn recover(&self) -> Result<(), StoreError> {
        self.inner.database.recover()
    }
}

fn prepare(folder: &Path, path: &Path) -> Result<Database, Cause> {
    fs::create_dir_all(folder).at(folder)?;
    let database = Database::open(path)?;
    // The name of a new file is on the disk only when its folder is.
    File::open(folder).and_then(|folder| folder.sync_all()).at(folder)?;
    Ok(database)
}

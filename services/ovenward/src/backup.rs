//! A copy of everything that the service keeps and could not make again: the store, and what stands beside it in files.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use store::{BackedUp, Store};

use crate::normal_files::files_below;
use crate::service::users_file;

/// What is learned, and the runs of travelling loggers.
const FOLDERS: [&str; 3] = ["normals", "balances", "transits"];

/// What was copied.
pub(crate) struct Copied {
    /// Of the store.
    pub(crate) store: BackedUp,
    /// Files beside it.
    pub(crate) files: usize,
}

/// Copies all of it into a folder, which is then a data folder like any other. The service may run meanwhile.
///
/// # Errors
/// What could not be copied, and why. An earlier copy in that folder is still of use.
pub(crate) fn back_up(store: &Store, data_dir: &Path, to: &Path) -> Result<Copied> {
    let store = store.backup(to)?;
    let mut files = 0;
    for folder in FOLDERS {
        let (from, to) = (data_dir.join(folder), to.join(folder));
        for file in files_below(&from)? {
            copy(&file, &to.join(file.strip_prefix(&from)?))?;
            files += 1;
        }
    }
    let users = users_file(data_dir);
    if users.exists() {
        copy(&users, &users_file(to))?;
        files += 1;
    }
    Ok(Copied { store, files })
}

/// With the rights of the original: nobody may read in the copy what he may not read there.
fn copy(from: &Path, to: &Path) -> Result<()> {
    let made = to.parent().map_or(Ok(()), fs::create_dir_all);
    made.and_then(|()| fs::copy(from, to))
        .with_context(|| format!("cannot copy {} to {}", from.display(), to.display()))?;
    Ok(())
}

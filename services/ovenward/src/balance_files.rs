//! Water balances as files: `balances/LINE/PRODUCT-vN.json`, of the same version as the normal they were learned with.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use balance::Balance;
use normal_profile::NormalKey;

use crate::normal_files::{file_of, write_whole};

/// The folder of balances of a data directory.
#[derive(Debug, Clone)]
pub struct BalanceFiles {
    folder: PathBuf,
}

impl BalanceFiles {
    /// The balances of this data directory; the folder need not exist yet.
    #[must_use]
    pub fn new(data_dir: &Path) -> Self {
        Self { folder: data_dir.join("balances") }
    }

    /// Writes a balance.
    ///
    /// # Errors
    /// The file cannot be written; what stood there before still stands.
    pub fn write(&self, balance: &Balance) -> Result<()> {
        write_whole(&file_of(&self.folder, balance.key()), &balance.to_json())
    }

    /// The balance that was learned with this normal; none if none could be.
    ///
    /// # Errors
    /// Its file cannot be read or is no balance.
    pub fn of_normal(&self, key: &NormalKey) -> Result<Option<Balance>> {
        let path = file_of(&self.folder, key);
        if !path.exists() {
            return Ok(None);
        }
        let text = fs::read_to_string(&path).with_context(|| format!("cannot read {}", path.display()))?;
        Balance::from_json(&text).map(Some).with_context(|| format!("{} cannot be used", path.display()))
    }
}

//! Water balances as files: `balances/LINE/PRODUCT-vN.json`, of the same version as the normal they were learned with.

use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use alert::Normals;
use anyhow::{Context, Result};
use balance::Balance;
use normal_profile::{Normal, NormalKey};
use reading::LineIndex;

use crate::normal_files::{file_of, write_whole};

/// Balances by line and product.
pub type Balances = HashMap<(LineIndex, Arc<str>), Balance>;

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

    /// The balances that were learned with these normals, by line and product. A file that cannot be read is told in the
    /// log and left out: what rests on a balance has something to fall back on.
    #[must_use]
    pub fn of_normals(&self, normals: &Normals) -> Balances {
        let balance = |(place, normal): (&(LineIndex, Arc<str>), &Arc<Normal>)| match self.of_normal(normal.key()) {
            Ok(found) => Some((place.clone(), found?)),
            Err(why) => {
                tracing::warn!("{why:#}");
                None
            }
        };
        normals.iter().filter_map(balance).collect()
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

//! What energy records are made of: the store, and what was learned.

use std::sync::Arc;

use alert::Normals;
use anyhow::Result;
use reading::{LineIndex, Plant, ShiftInstance};
use store::Store;

use super::shift::{ShiftTally, shift_tally};
use crate::balance_files::{BalanceFiles, Balances};
use crate::config::Settings;
use crate::normal_files::NormalFiles;

/// What energy records are made of.
pub(crate) struct Books<'a> {
    pub(crate) store: &'a Store,
    pub(crate) plant: &'a Arc<Plant>,
    pub(crate) settings: &'a Settings,
    pub(crate) normals: Normals,
    pub(crate) balances: Balances,
}

impl<'a> Books<'a> {
    /// Opens them with the normals in use and the balances that were learned with them.
    ///
    /// # Errors
    /// The normals cannot be listed.
    pub(crate) fn open(store: &'a Store, plant: &'a Arc<Plant>, settings: &'a Settings) -> Result<Self> {
        let normals = NormalFiles::new(&settings.data_dir).approved(plant)?;
        let balances = BalanceFiles::new(&settings.data_dir).of_normals(&normals);
        Ok(Self { store, plant, settings, normals, balances })
    }

    /// The sums of the shifts in which a line has any reading.
    ///
    /// # Errors
    /// The store cannot be read.
    pub(crate) fn tallies(&self, line: LineIndex, shifts: &[ShiftInstance]) -> Result<Vec<ShiftTally>> {
        let mut tallies = Vec::new();
        for shift in shifts {
            let found = shift_tally(self, line, shift)?;
            if !found.products.is_empty() {
                tallies.push(found);
            }
        }
        Ok(tallies)
    }
}

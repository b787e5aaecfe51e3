//! The file of a balance, like that of its normal.

use normal_profile::{Checked, NotWhole};
use thiserror::Error;

use crate::balance::Balance;
use crate::record::BalanceRecord;

const FILE: Checked = Checked { name: "balance", format: 1, earlier: &[] };

/// Why a file was refused.
#[derive(Debug, Error)]
pub enum FileError {
    /// No file of a balance, of another format, or changed.
    #[error(transparent)]
    NotWhole(#[from] NotWhole),
    /// Whole, but its parts do not fit together.
    #[error("its parts do not fit together: {0}; learn again")]
    Unusable(&'static str),
}

impl Balance {
    /// The file's content. The same balance gives the same bytes.
    #[must_use]
    pub fn to_json(&self) -> String {
        serde_json::to_string(&FILE.file(self.record())).unwrap_or_default()
    }

    /// Reads a file's content.
    ///
    /// # Errors
    /// Another format, a changed content, or parts that do not fit together.
    pub fn from_json(text: &str) -> Result<Self, FileError> {
        let record: BalanceRecord = FILE.read(text)?;
        record.check().map_err(FileError::Unusable)?;
        Ok(Self::from_parts(record))
    }
}

impl BalanceRecord {
    /// What a whole file can still have wrong: what would be asked for a zone or a value that it has not.
    fn check(&self) -> Result<(), &'static str> {
        let (zones, values) = (self.oven.zones_m.len(), self.estimates.len());
        let fits = |holds: bool, what: &'static str| if holds { Ok(()) } else { Err(what) };
        fits(zones > 0 && self.oven.zones_m.iter().all(|length| *length > 0.0), "zones without length")?;
        fits(self.bake.heat_kwh_per_kg_water().is_ok() && self.bake.bake_time_min > 0.0, "no product")?;
        fits(self.usual.speed_m_min > 0.0 && self.data.slowest_m_min > 0.0, "no speed")?;
        fits(self.usual.temperatures_c.len() == zones && self.usual.opening_by_ln_speed.len() == zones, "usual zones")?;
        fits(self.usual.openings.as_ref().is_none_or(|openings| openings.len() == zones), "dampers")?;
        fits(self.usual.ambient.is_none_or(|air| air.humidity >= 0.0 && air.spread >= 0.0), "air of the hall")?;
        fits(self.scatter.len() == zones && self.scatter.iter().all(|spread| *spread > 0.0), "scatter")?;
        let within = |unknown: &crate::Unknown| !matches!(unknown, crate::Unknown::Exhaust(zone) if *zone >= zones);
        fits(self.estimates.iter().all(|estimate| within(&estimate.unknown)), "exhaust of a zone that is not there")?;
        fits(self.fitted.len() == values && !self.replicates.is_empty(), "values")?;
        let whole = self.replicates.iter().all(|one| one.fitted.len() == values && one.probe.len() == zones);
        fits(whole, "replicates")
    }
}

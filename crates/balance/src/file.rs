//! The file of a balance: JSON with a format number and a checksum over its content, like that of its normal.

use normal_profile::Checksum;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::balance::Balance;
use crate::record::BalanceRecord;

/// The format that this program writes and reads.
pub const FORMAT: u32 = 1;

/// Why a file was refused.
#[derive(Debug, Error)]
pub enum FileError {
    /// Not JSON, or not the fields of a balance.
    #[error("this is not the file of a balance: {0}")]
    Unreadable(#[from] serde_json::Error),
    /// Written by a program of another time.
    #[error("the file has format {found}; this program reads format {FORMAT}: learn again")]
    OtherFormat {
        /// The format found.
        found: u32,
    },
    /// Damaged, or edited by hand.
    #[error("its checksum is {found}, the file says {stated}: it was damaged or edited; restore it or learn again")]
    Changed {
        /// What the file says.
        stated: String,
        /// What its content gives.
        found: String,
    },
    /// Whole, but its parts do not fit together.
    #[error("its parts do not fit together: {0}; learn again")]
    Unusable(&'static str),
}

#[derive(Deserialize)]
struct Format {
    format: u32,
}

#[derive(Serialize)]
struct Written<'a> {
    format: u32,
    checksum: String,
    balance: &'a BalanceRecord,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Read {
    #[serde(rename = "format")]
    _format: u32,
    checksum: String,
    balance: BalanceRecord,
}

impl Balance {
    /// The file's content. The same balance gives the same bytes.
    #[must_use]
    pub fn to_json(&self) -> String {
        let file = Written { format: FORMAT, checksum: checksum(self.record()), balance: self.record() };
        // Plain structs of numbers and text always serialise.
        serde_json::to_string(&file).unwrap_or_default()
    }

    /// Reads a file's content.
    ///
    /// # Errors
    /// Another format, a changed content, or parts that do not fit together.
    pub fn from_json(text: &str) -> Result<Self, FileError> {
        let Format { format } = serde_json::from_str(text)?;
        if format != FORMAT {
            return Err(FileError::OtherFormat { found: format });
        }
        let file: Read = serde_json::from_str(text)?;
        let found = checksum(&file.balance);
        if found != file.checksum {
            return Err(FileError::Changed { stated: file.checksum, found });
        }
        file.balance.check().map_err(FileError::Unusable)?;
        Ok(Self::from_parts(file.balance))
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
        fits(self.scatter.len() == zones && self.scatter.iter().all(|spread| *spread > 0.0), "scatter")?;
        let within = |unknown: &crate::Unknown| !matches!(unknown, crate::Unknown::Exhaust(zone) if *zone >= zones);
        fits(self.estimates.iter().all(|estimate| within(&estimate.unknown)), "exhaust of a zone that is not there")?;
        fits(self.fitted.len() == values && !self.replicates.is_empty(), "values")?;
        let whole = self.replicates.iter().all(|one| one.fitted.len() == values && one.probe.len() == zones);
        fits(whole, "replicates")
    }
}

/// Over the compact form, so that white space does not count.
fn checksum(record: &BalanceRecord) -> String {
    let mut checksum = Checksum::new();
    checksum.add(serde_json::to_string(record).unwrap_or_default().as_bytes());
    checksum.digits()
}

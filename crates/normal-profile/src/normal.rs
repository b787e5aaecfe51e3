//! The normal of a product on a line: a record that is kept, and what is read off it.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::departure::Calibration;
use crate::key::NormalKey;
use crate::mixture::Mixture;
use crate::observation::Columns;
use crate::regression::SpeedRegression;
use crate::rises::{JudgedRise, RisePractice};
use crate::scaling::Scaling;
use crate::screening::LeftOut;
use crate::statistics::{LinearError, SquareMatrix};
use crate::trim::Trial;
use crate::zone_response::ZoneResponse;
use physics::units::MetrePerMinute;

/// Where a normal stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "state", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Standing {
    /// Learned, and waiting for an engineer.
    Proposed,
    /// In use.
    Approved {
        /// Who approved it.
        by: String,
        /// When, as the caller wrote it.
        at: String,
    },
    /// No longer in use.
    Retired {
        /// Who retired it.
        by: String,
        /// When, as the caller wrote it.
        at: String,
    },
}

/// A change of standing that cannot be.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("normal {key} was retired by {by} at {at}; learn a new version instead of approving it again")]
pub struct AlreadyRetired {
    /// The normal.
    pub key: String,
    /// Who retired it.
    pub by: String,
    /// When.
    pub at: String,
}

/// The data that a normal was learned from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DataUsed {
    /// First usable window, UTC microseconds since 1970.
    pub from_us: i64,
    /// Last usable window.
    pub to_us: i64,
    /// Windows given.
    pub windows_given: usize,
    /// Windows the normal rests on.
    pub windows_used: usize,
    /// Windows left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// Separate runs of baking.
    pub runs: usize,
    /// Hours of baking used.
    pub hours: f64,
    /// Checksum of the windows and rises given, 16 hexadecimal digits.
    pub checksum: String,
}

/// The learned speeds, m/min.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpeedRange {
    /// The slowest.
    pub slowest_m_min: f64,
    /// The fastest.
    pub fastest_m_min: f64,
}

/// Everything that a normal is, as it stands in its file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NormalRecord {
    /// Which normal this is.
    pub key: NormalKey,
    /// Version of the program that learned it.
    pub program_version: String,
    /// Proposed, approved or retired.
    pub standing: Standing,
    /// What it was learned from.
    pub data: DataUsed,
    /// Learned speeds.
    pub speeds: SpeedRange,
    /// Which quantities, in which order.
    pub columns: Columns,
    /// Their centres and spreads.
    pub scaling: Scaling,
    /// Seed of every random start.
    pub seed: u64,
    /// How many neighbouring windows count as one independent window, at least 1.
    pub memory_windows: f64,
    /// To how many independent windows the data amounts.
    pub independent_windows: f64,
    /// Every number of components tried.
    pub trials: Vec<Trial>,
    /// The ways of running, in scaled units.
    pub mixture: Mixture,
    /// Standard deviation of ln humidity from window to window, one per zone.
    pub window_noise: Vec<f64>,
    /// Covariance of the change of ln humidity over 20 minutes of steady speed.
    pub drift: SquareMatrix,
    /// How each zone answers a change of speed; none where the speed hardly ever changed.
    pub responses: Vec<Option<ZoneResponse>>,
    /// What practice makes of a rise when it has just reached a zone; none with too few rises.
    pub rises: Option<RisePractice>,
    /// The same some minutes after it has reached every zone.
    #[serde(default)]
    pub settled_rises: Option<RisePractice>,
    /// Every rise in history, in order of time, and what became of it.
    pub rise_history: Vec<JudgedRise>,
    /// Where the scores of the windows learned from lie.
    pub calibration: Calibration,
}

/// A record that no normal can be made of.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Unusable {
    /// A covariance that is none.
    #[error(transparent)]
    Covariance(#[from] LinearError),
    /// Parts that do not belong together.
    #[error("{0}")]
    Inconsistent(&'static str),
}

impl NormalRecord {
    /// Refuses parts that do not belong together: what is read off a normal relies on them.
    fn check(&self) -> Result<(), Unusable> {
        let SpeedRange { slowest_m_min, fastest_m_min } = self.speeds;
        let Columns { zones, temperature_zones } = &self.columns;
        let fits_zones = |values: usize, covariance: &SquareMatrix| values == *zones && covariance.size() == *zones;
        let requirements = [
            (*zones > 0, "it has no zones"),
            (
                slowest_m_min > 0.0 && slowest_m_min <= fastest_m_min && fastest_m_min.is_finite(),
                "its learned speeds are no range above 0",
            ),
            (temperature_zones.iter().all(|zone| zone < zones), "it has a temperature in a zone that it has not"),
            (!self.mixture.components.is_empty(), "its mixture has no components"),
            (
                self.scaling.centre.len() == self.columns.width() && self.scaling.spread.len() == self.columns.width(),
                "its scaling has another number of columns",
            ),
            (fits_zones(self.window_noise.len(), &self.drift), "its noise or drift has another number of zones"),
            (self.responses.len() == *zones, "its responses have another number of zones"),
            (
                [&self.rises, &self.settled_rises]
                    .into_iter()
                    .flatten()
                    .all(|rises| fits_zones(rises.slope.len(), &rises.covariance)),
                "its rises have another number of zones",
            ),
        ];
        let failed = requirements.into_iter().find(|(holds, _)| !holds);
        failed.map_or(Ok(()), |(_, what)| Err(Unusable::Inconsistent(what)))
    }
}

/// The normal of a product on a line.
#[derive(Debug, Clone)]
pub struct Normal {
    pub(crate) record: NormalRecord,
    pub(crate) regression: SpeedRegression,
}

impl Normal {
    /// Makes the record ready for use.
    pub(crate) fn from_record(record: NormalRecord) -> Result<Self, Unusable> {
        record.check()?;
        let SpeedRange { slowest_m_min, fastest_m_min } = record.speeds;
        let regression = SpeedRegression::new(
            &record.mixture,
            &record.scaling,
            &record.columns,
            MetrePerMinute(slowest_m_min),
            MetrePerMinute(fastest_m_min),
        )?;
        Ok(Self { record, regression })
    }

    /// Everything that stands in the file.
    pub fn record(&self) -> &NormalRecord {
        &self.record
    }

    /// Which normal this is; prints as `tunnel-1/T800/3`.
    pub fn key(&self) -> &NormalKey {
        &self.record.key
    }

    /// Puts the normal into use.
    pub fn approve(&mut self, by: &str, at: &str) -> Result<(), AlreadyRetired> {
        if let Standing::Retired { by, at } = &self.record.standing {
            return Err(AlreadyRetired { key: self.record.key.to_string(), by: by.clone(), at: at.clone() });
        }
        self.record.standing = Standing::Approved { by: by.to_owned(), at: at.to_owned() };
        Ok(())
    }

    /// Takes the normal out of use, for good.
    pub fn retire(&mut self, by: &str, at: &str) {
        self.record.standing = Standing::Retired { by: by.to_owned(), at: at.to_owned() };
    }
}

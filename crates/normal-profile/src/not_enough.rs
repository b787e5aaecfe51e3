//! Why no normal was learned.

use thiserror::Error;

/// Why no normal was learned, and what would be needed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NotEnough {
    /// Too little baking, or too few separate runs of it.
    #[error("{hours:.1} h of baking in {runs} runs; at least {minimum_hours} h in {minimum_runs} runs are needed")]
    Baking {
        /// Hours of usable windows.
        hours: f64,
        /// Runs they lie in.
        runs: usize,
        /// Hours needed.
        minimum_hours: f64,
        /// Runs needed.
        minimum_runs: usize,
    },
    /// Windows of no zone at all.
    #[error("the windows have no zones; a normal needs at least one zone with a humidity")]
    NoZones,
    /// A zone without humidity in most windows.
    #[error(
        "zone {zone} has a humidity in {share_pct:.0} % of the windows of baking; at least 50 % are needed: \
         check its sensor, or leave the zone out of the line"
    )]
    SilentZone {
        /// The zone, from 1.
        zone: usize,
        /// Share of the windows with a value, %.
        share_pct: f64,
    },
    /// The windows do not allow a fit.
    #[error("no mixture could be fitted to {windows} windows: {reason}")]
    NoFit {
        /// Windows that were to be fitted.
        windows: usize,
        /// What the last attempt said.
        reason: String,
    },
    /// A setting outside its range.
    #[error("{setting} is {value}; {expected}")]
    Setting {
        /// Name of the setting.
        setting: &'static str,
        /// Its value.
        value: f64,
        /// What may stand there.
        expected: &'static str,
    },
}

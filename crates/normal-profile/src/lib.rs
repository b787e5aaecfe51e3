//! The normal of a product on a line: learned from windows of baking, kept as a versioned file.
//!
//! ```text
//! Observations ─ screening ─ scaling ─ trim (mixture) ─┐
//!                     ├───── steadiness ───────────────┤
//!                     └───── response (lag and gain) ──┼─ NormalRecord ─ file
//! Rises ──────────────────── rises ────────────────────┘       │
//!                                                          regression
//!                                            expectation ──────┴────── departure ── slip
//! ```
//!
//! The normal is *practice*: the humidity and temperature of each zone at a band speed, as this oven
//! is run when it is run well. Dampers and steam are deliberately no part of it; a model that knew
//! the damper would explain an overload away. Humidity is learned as its logarithm, because exhaust,
//! load and steam act as ratios.
//!
//! Nothing here reads a file, a clock or the network; a date comes in as the caller's text.
//!
//! ```
//! use normal_profile::{LearnSettings, NormalKey, learn};
//!
//! let key = NormalKey { site: "millbrook".into(), line: "tunnel-1".into(), product: "T800".into(), version: 1 };
//! let refused = learn(key, &[], &[], &LearnSettings::default()).map(|_| ()).map_err(|why| why.to_string());
//! assert_eq!(refused, Err("0.0 h of baking in 0 runs; at least 6 h in 3 runs are needed".to_owned()));
//! ```

#![cfg_attr(test, allow(clippy::unwrap_used))]

mod checked;
mod checksum;
mod departure;
mod expectation;
mod file;
#[cfg(test)]
mod iris_check;
mod key;
mod learn;
mod mixture;
mod normal;
mod not_enough;
mod observation;
mod regression;
mod response;
mod rises;
mod scaling;
mod screening;
mod settings;
mod slip;
mod start;
pub mod statistics;
mod steadiness;
mod trim;
mod ways;
mod zone_response;

pub use checked::{Checked, NotWhole};
pub use departure::{ALLOWANCE, Calibration, Departure, ZoneContribution};
pub use expectation::{BAND, Band, ChangeSource, Expectation, ExpectedChange, ZoneExpectation};
pub use file::FileError;
pub use key::NormalKey;
pub use learn::learn;
pub use mixture::{Component, Density, Mixture};
pub use normal::{AlreadyRetired, DataUsed, Normal, NormalRecord, SpeedRange, Standing, Unusable};
pub use not_enough::NotEnough;
pub use observation::{Columns, Observation, Quantity, RiseChange};
pub use regression::Extrapolation;
pub use response::{LaggedResponse, Stretch, lagged_response};
pub use rises::{FEWEST_RISES, JudgedRise, RisePractice, RiseVerdict};
pub use scaling::Scaling;
pub use screening::{LeftOut, LeftOutReason};
pub use settings::LearnSettings;
pub use slip::{Shift, ShiftFit, Slip, ZoneShift, slipping};
pub use trim::Trial;
pub use ways::{Difference, WayOfRunning, ZoneDifference};
pub use zone_response::ZoneResponse;

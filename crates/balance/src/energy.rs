//! Energy of a line by shift: what it used, what it made of it, and whether that is less than before.
//!
//! ```text
//! readings of the meters ─┐
//! windows of event time ──┼─ tally ─ Tally (sums by product) ─ EnergyRecord (kWh, kWh/t, moisture, cost, CO2)
//! plant, settings ────────┘                                        │
//!                                             Baseline (EnB) ──────┴─ Saving, CUSUM and the date it turned
//! ```
//!
//! The words are those of ISO 50006: an energy performance indicator (EnPI, here kWh per tonne of good product), an
//! energy baseline (EnB) that is normalised by relevant variables (production, product mix, idle time, ambient
//! temperature), and static factors, which are taken as unchanged.
//!
//! kWh per tonne falls when the band speeds up and the product stays wet. That is no saving, so a record never shows
//! one without the moisture of the zones.
//!
//! Nothing is filled in: time for which a meter says nothing is left out of its sum and lowers the coverage, and what
//! cannot be computed is `None`. [`missing`] says which signal or setting would give it.

mod baseline;
mod change;
mod gas;
mod least_squares;
mod meter;
mod missing;
mod price;
mod record;
mod saving;
mod settings;
mod tally;
mod waste;

#[cfg(test)]
mod tests;

pub use baseline::{Baseline, BaselinePoint, BaselineRefused, FitQuality, Variable};
pub use change::{Turn, turn};
pub use gas::CalorificValue;
pub use least_squares::{Dependent, LeastSquares};
pub use missing::{Missing, missing};
pub use price::{Carbon, CarbonFactor, Prices};
pub use record::{EnergyRecord, GoodMass, record};
pub use saving::{Saving, saving};
pub use settings::{BoilerSettings, EnergySettings};
pub use tally::{DrawnAir, ExpectedHumidity, Known, Mean, Metered, Tally, ZoneTally, tally};
pub use waste::{ExcessMoisture, Waste};

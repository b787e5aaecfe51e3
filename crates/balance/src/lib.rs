//! The water and heat balance of a tunnel oven: what a zone holds, why, and what it would hold if the oven
//! were run otherwise.
//!
//! ```text
//! windows ─ steady_blocks ─ learn_balance ─ Balance (a file) ─ predict ─ review ─ RateChange (a record)
//!                                │                                │
//!                          WaterBalance::solve: Oven, Bake, Parameters, Settings ─ ZoneState
//! ```
//!
//! At rest the water of a zone reads
//! `G (w - w_ambient) = evaporation + steam + combustion water + exchange with its neighbours`,
//! with `G` the dry air that its exhaust draws. Evaporation belongs to the *time* in the oven, not to the place:
//! a faster band carries the same drying curve further down the oven, and what dried in zone 2 dries in zone 3.
//!
//! [`energy`] is the other half: what a line used by shift, what it made of it, and whether that is less than before.
//! [`transit`] lays the run of a travelling logger on the zones.
//!
//! Nothing here reads a file, a clock or the network. What it gives is a prediction, never an order: exhaust,
//! burner and steam settings belong to the oven maker's limits, the plant's licensed people and local codes.

#![cfg_attr(test, allow(clippy::unwrap_used))]

mod bake;
mod balance;
mod drying;
pub mod energy;
mod exhaust;
mod file;
mod fit;
mod heat_balance;
mod inputs;
mod learned;
mod misfit;
mod oven;
mod parameters;
mod rate_change;
mod record;
pub mod review;
mod running;
mod settings;
mod steady;
pub mod transit;
mod tridiagonal;
mod unknown;
mod untold;
mod water;

pub use bake::Bake;
pub use balance::{Balance, Prediction, ZonePrediction};
pub use drying::DryingCurve;
pub use exhaust::{DamperCurve, Draught, ZoneExhaust};
pub use file::FileError;
pub use fit::{CannotFit, FitSettings, learn_balance};
pub use heat_balance::{HeatBalance, HeatLine};
pub use inputs::{MissingInputs, inputs};
pub use learned::Learned;
pub use oven::Oven;
pub use parameters::Parameters;
pub use rate_change::{
    Agreement, LOOKED_AT_AFTER, Outcome, RateChange, RateChangeRefusal, RateChangeState, Role, Signature, ZoneOutcome,
};
pub use record::{BalanceData, BalanceRecord, Estimate, Replicate};
pub use running::{MeasuredAir, Running, Usual};
pub use settings::{Ambient, Settings};
pub use steady::{SteadyBlock, steady_blocks};
pub use unknown::Unknown;
pub use untold::Untold;
pub use water::{WaterBalance, ZoneState};

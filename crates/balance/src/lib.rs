//! The water and heat balance of a tunnel oven: what a zone holds, why, and what it would hold if the oven
//! were run otherwise.
//!
//! ```text
//! Oven, Bake ─┐
//! Parameters ─┼─ WaterBalance::solve ─ ZoneState (humidity, evaporation, exhaust, heat)
//! Settings ───┘
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
mod damper;
mod drying;
pub mod energy;
mod heat_balance;
mod oven;
mod parameters;
mod settings;
pub mod transit;
mod tridiagonal;
mod water;

pub use bake::Bake;
pub use damper::DamperCurve;
pub use drying::DryingCurve;
pub use heat_balance::{HeatBalance, HeatLine};
pub use oven::Oven;
pub use parameters::Parameters;
pub use settings::{Ambient, Settings};
pub use water::{WaterBalance, ZoneState};

//! Water, steam, air, dough and combustion: units, formulas and plain types.

pub mod air;
pub mod combustion;
pub mod dough;
mod error;
mod root;
pub mod saturation;
pub mod steam;
pub mod surface;
pub mod units;

pub use error::OutOfRange;

//! Water, steam, air, dough and combustion: units, formulas and plain types.

pub mod air;
mod error;
pub mod saturation;
pub mod units;

pub use error::OutOfRange;

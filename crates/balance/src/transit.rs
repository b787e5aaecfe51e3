//! A travelling logger's run: air temperature and humidity as the product meets them, laid on the zones.
//!
//! ```text
//! samples (time, air) ─┐
//! band speed in time ──┼─ lay ─ Journey (place and time in the oven) ─ analyse ─ Transit: zone by zone, peak, steam
//! zones of the line ───┘                                               compare ─ two of them, zone by zone
//! ```
//!
//! A zone is what its middle third shows: near its borders a logger, which lags, still carries the air of the zone
//! before. What the product's surface does is computed, not measured, and answers for the steam section alone.

mod analysis;
mod comparison;
mod injectors;
mod journey;
mod steam;

#[cfg(test)]
mod tests;

pub use analysis::{Transit, ZonePassage, analyse};
pub use comparison::{Change, compare};
pub use injectors::{Injector, injectors};
pub use journey::{Journey, NoJourney, Place, Sample, lay};
pub use steam::{Surface, surface};

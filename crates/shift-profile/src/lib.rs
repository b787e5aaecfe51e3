//! From readings to the shift profile table: one row per line × shift × product × zone.
//!
//! ```text
//! windows ── stretches ──┐
//! readings ──────────────┴─ measurements ── summary (polars) ── rows ── csv, parquet, json, text, html
//! ```
//!
//! A reading counts if it lies in the shift and in a stretch of baking, if the plant does not call it
//! bad, and if oven air can have that value. Humidity of whichever kind becomes moisture by volume,
//! dew point and humidity ratio at the site's air pressure. Quantiles are exact: linear interpolation
//! between the two readings next to rank (n − 1)·q of the sorted readings.
//!
//! Statistics count every reading once. A signal that is sent on change only is therefore not
//! weighted by time, and one that did not change during the stretch has no value.
//!
//! polars stays inside the module `summary`: what comes in are vectors, what goes out are plain numbers.

mod error;
mod measurement;
mod profile;
mod remembered;
mod row;
mod running;
mod stretch;
mod summary;
mod write;

#[cfg(test)]
mod tests;

pub use error::ShiftProfileError;
pub use profile::shift_profile;
pub use row::ShiftProfileRow;
pub use stretch::{Stretch, stretches};
pub use write::{write_csv, write_html, write_json, write_parquet, write_text};

//! Energy records of what is stored: read shift by shift, grouped as asked, held against the baseline.
//!
//! ```text
//! store ─ shift::tallies ─ Tally by product ─┬─ rows (by shift, day, month or product) ─ table | text | MQTT
//!                                            └─ baseline ─ expected, saving, CUSUM ────┘
//! ```

mod account;
mod finished;
mod period;
mod row;
mod shift;
mod text;

pub(crate) use account::{Account, BaselineOutcome, Books, Comparison};
pub(crate) use finished::finished_shift;
pub(crate) use period::{By, shifts_on};
pub(crate) use row::{COLUMNS, EnergyRow};
pub(crate) use text::{CAUTION, write_text};

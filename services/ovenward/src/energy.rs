//! Energy records of what is stored: read shift by shift, grouped as asked, held against the baseline.
//!
//! ```text
//! store ─ shift::tallies ─ Tally by product ─┬─ rows (by shift, day, month or product) ─ table | text | MQTT
//!                                            └─ baseline ─ expected, saving, CUSUM ────┘
//! ```

mod account;
mod baseline;
mod books;
mod finished;
mod period;
mod row;
mod shift;
mod text;

pub(crate) use account::{Account, BaselineOutcome};
pub(crate) use baseline::{Comparison, shifts_of};
pub(crate) use books::Books;
pub(crate) use finished::Baselines;
pub(crate) use period::By;
pub(crate) use row::{COLUMNS, EnergyRow};
pub(crate) use text::{CAUTION, write_text};

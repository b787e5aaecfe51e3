//! Many numeric readings, column by column: what the store hands to the tables.

use crate::signal::SignalId;
use crate::time::Timestamp;

/// Numeric readings as columns of equal length, in order of time.
///
/// Values are as the plant sent them (see [`Reading`](crate::Reading)); texts have no place here.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct NumberColumns {
    /// Which signal: [`SignalId`] as a number.
    pub signal: Vec<u32>,
    /// When: [`Timestamp`] as a number of microseconds.
    pub time_us: Vec<i64>,
    /// What the plant sent.
    pub value: Vec<f64>,
    /// [`Quality::code`](crate::Quality::code).
    pub quality: Vec<u8>,
}

impl NumberColumns {
    /// Appends one reading.
    pub fn push(&mut self, signal: SignalId, time: Timestamp, value: f64, quality: u8) {
        self.signal.push(signal.0);
        self.time_us.push(time.0);
        self.value.push(value);
        self.quality.push(quality);
    }

    /// How many readings there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.time_us.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.time_us.is_empty()
    }
}

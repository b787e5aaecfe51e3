//! Many readings, signal by signal: what the store hands to the tables and to the windows.

use crate::signal::SignalId;
use crate::time::Timestamp;
use crate::value::{Quality, Reading, Value};

/// Readings of one line, series by series.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LineSeries {
    /// The numeric ones: one series a signal, none of them empty, in order of the signals.
    pub numbers: Vec<NumberSeries>,
    /// The texts, in order of time, then signal.
    pub texts: Vec<Reading>,
}

/// Numeric readings of one signal: columns of equal length, in order of time, no time twice.
///
/// Values are as the plant sent them (see [`Reading`]).
#[derive(Debug, Clone, PartialEq)]
pub struct NumberSeries {
    /// Which signal.
    pub signal: SignalId,
    /// When: [`Timestamp`] as a number of microseconds.
    pub time_us: Vec<i64>,
    /// What the plant sent.
    pub value: Vec<f64>,
    /// [`Quality::code`].
    pub quality: Vec<u8>,
}

impl FromIterator<Reading> for LineSeries {
    /// Of readings in order of time, then signal.
    fn from_iter<I: IntoIterator<Item = Reading>>(readings: I) -> Self {
        let mut series = Self::default();
        for reading in readings {
            match reading.value {
                Value::Number(number) => series.of(reading.signal).push(reading.time, number, reading.quality),
                Value::Text(_) => series.texts.push(reading),
            }
        }
        series
    }
}

impl LineSeries {
    /// Whether there is no reading.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.numbers.is_empty() && self.texts.is_empty()
    }

    /// The series of a signal, a new one if it has none yet.
    fn of(&mut self, signal: SignalId) -> &mut NumberSeries {
        let place = self.numbers.binary_search_by_key(&signal, |series| series.signal).unwrap_or_else(|place| {
            self.numbers.insert(place, NumberSeries::new(signal));
            place
        });
        &mut self.numbers[place]
    }
}

impl NumberSeries {
    /// Of no reading yet.
    #[must_use]
    pub fn new(signal: SignalId) -> Self {
        Self { signal, time_us: Vec::new(), value: Vec::new(), quality: Vec::new() }
    }

    /// Appends one reading.
    pub fn push(&mut self, time: Timestamp, value: f64, quality: Quality) {
        self.time_us.push(time.0);
        self.value.push(value);
        self.quality.push(quality.code());
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

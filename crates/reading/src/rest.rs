//! How far stored series have been taken.

use std::collections::HashMap;

use crate::series::{LineSeries, NumberSeries};
use crate::signal::SignalId;
use crate::time::Timestamp;
use crate::value::{Quality, Reading, Value};

/// What has not been taken yet of the series of a line.
pub(crate) struct Rest<'a> {
    /// With the place that the caller gave to its signal, and how many of its readings are taken.
    numbers: Vec<(usize, &'a NumberSeries, usize)>,
    texts: Vec<(usize, &'a Reading)>,
    texts_taken: usize,
}

impl<'a> Rest<'a> {
    /// All of the series whose signals have a place.
    pub(crate) fn of(series: &'a LineSeries, places: &HashMap<SignalId, usize>) -> Self {
        let place = |signal| places.get(signal).copied();
        let numbers = series.numbers.iter().filter_map(|series| Some((place(&series.signal)?, series, 0))).collect();
        let texts = series.texts.iter().filter_map(|reading| Some((place(&reading.signal)?, reading))).collect();
        Self { numbers, texts, texts_taken: 0 }
    }

    /// The earliest time that is left.
    pub(crate) fn next_time(&self) -> Option<Timestamp> {
        let numbers = self.numbers.iter().filter_map(|(_, series, taken)| series.time_us.get(*taken).copied());
        let text = self.texts.get(self.texts_taken).map(|(_, reading)| reading.time);
        numbers.min().map(Timestamp).into_iter().chain(text).min()
    }

    /// Hands over everything before `ends`, signal by signal, each in order of time.
    pub(crate) fn take_until(&mut self, ends: Timestamp, mut take: impl FnMut(usize, Timestamp, Value, Quality)) {
        for (place, series, taken) in &mut self.numbers {
            let left = series.time_us[*taken..].iter().zip(&series.value[*taken..]).zip(&series.quality[*taken..]);
            for ((&time, &value), &quality) in left.take_while(|((time, _), _)| **time < ends.0) {
                take(*place, Timestamp(time), Value::Number(value), Quality::from_code(quality));
                *taken += 1;
            }
        }
        while let Some((place, reading)) = self.texts.get(self.texts_taken).filter(|(_, reading)| reading.time < ends) {
            take(*place, reading.time, reading.value.clone(), reading.quality);
            self.texts_taken += 1;
        }
    }
}

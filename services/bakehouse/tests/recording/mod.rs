//! Runs a bakery and keeps what it said, to be asked about afterwards.
#![allow(clippy::unwrap_used, dead_code)]

use std::collections::BTreeMap;
use std::time::Duration;

use bakehouse::{Bakery, HumidityProbe, Line, PlantReading, PlantValue, Schedule, Simulation};
use chrono::{DateTime, TimeDelta, Utc};

/// Monday, 2 November 2026, 07:00: a winter morning within the early shift.
pub(crate) fn start() -> DateTime<Utc> {
    "2026-11-02T07:00:00Z".parse().unwrap()
}

pub(crate) fn minutes(minutes: f64) -> TimeDelta {
    TimeDelta::milliseconds((minutes * 60_000.0) as i64)
}

/// A bakery of one oven, 28 m long, with % vol probes.
pub(crate) fn oven_of(zones: usize) -> Bakery {
    let mut line = Line::tunnel("tunnel-1", zones, 28.0);
    line.humidity = HumidityProbe::Moisture;
    Bakery::with_line(line)
}

pub(crate) fn simulation(bakery: &Bakery, schedule: &Schedule, seed: u64) -> Simulation {
    Simulation::new(bakery.clone(), schedule, seed, start(), Duration::from_secs(10)).unwrap()
}

/// Numbers by topic, each with minutes since the start.
pub(crate) struct Recording(BTreeMap<String, Vec<(f64, f64)>>);

impl Recording {
    pub(crate) fn of(simulation: &mut Simulation, lasts: TimeDelta) -> Self {
        let mut by_topic = BTreeMap::<String, Vec<(f64, f64)>>::new();
        for reading in simulation.until(start() + lasts) {
            if let PlantValue::Number { value, .. } = reading.value {
                let at = (reading.time - start()).num_milliseconds() as f64 / 60_000.0;
                by_topic.entry(reading.topic.to_string()).or_default().push((at, value));
            }
        }
        Self(by_topic)
    }

    pub(crate) fn series(&self, signal: &str) -> &[(f64, f64)] {
        &self.0[&format!("mill/tunnel-1/{signal}")]
    }

    /// Mean of a signal of tunnel-1 between two times in minutes.
    pub(crate) fn mean(&self, signal: &str, from: f64, to: f64) -> f64 {
        let within = |at: f64| (from..to).contains(&at);
        let values: Vec<f64> =
            self.series(signal).iter().filter(|(at, _)| within(*at)).map(|(_, value)| *value).collect();
        assert!(!values.is_empty(), "{signal} says nothing from {from} to {to} min");
        values.iter().sum::<f64>() / values.len() as f64
    }

    /// Mean after the time 60 to 90 min as a ratio to the mean from 0 to 25 min.
    pub(crate) fn ratio(&self, signal: &str) -> f64 {
        self.mean(signal, 60.0, 90.0) / self.mean(signal, 0.0, 25.0)
    }
}

pub(crate) fn bytes(readings: impl Iterator<Item = PlantReading>) -> Vec<u8> {
    let mut bytes = vec![];
    for reading in readings {
        bakehouse::write_csv_row(&mut bytes, &reading).unwrap();
    }
    bytes
}

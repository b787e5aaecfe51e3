//! Days of an invented oven, as windows.

use std::sync::Arc;
use std::time::Duration;

use bakehouse::{Bakery, Draw, Opening, RateChange, Response, Run, Schedule, Simulation, What};
use chrono::{DateTime, TimeDelta, Utc};
use detection_benchmark::plant::{plant, reading};
use reading::{LineIndex, Plant, Span, Timestamp, Window, WindowBuilder};

/// Days that are learned from; the trial comes after them.
const HISTORY: TimeDelta = TimeDelta::days(8);
/// Signals are read this often.
const INTERVAL: Duration = Duration::from_secs(20);

/// The days, and when the trial begins.
pub(crate) struct Days {
    pub(crate) plant: Arc<Plant>,
    pub(crate) windows: Vec<Window>,
    pub(crate) trial: Timestamp,
}

impl Days {
    /// Eight days in which the crews answer every change of speed, in their own ways; then each product in turn at its
    /// nominal speed, from there to `beyond` times it with nobody at the dampers, and as fast with the crew's settings.
    pub(crate) fn bake(bakery: &Bakery, seed: u64, beyond: f64) -> Self {
        let start: DateTime<Utc> = "2026-06-01T05:00:00Z".parse().unwrap();
        let trial = start + HISTORY;
        // Where nobody measures the air of the hall, a sultry night could not be told from any other.
        let sultry_nights_per_week = if bakery.lines[0].hall_signals { 2.0 } else { 0.0 };
        let draw = Draw { unmatched_per_day: 0.0, weekly_rest: false, sultry_nights_per_week, ..Draw::default() };
        let mut schedule = Schedule::quiet();
        schedule.draw(bakery, &draw, seed, start, trial, Opening::Baking);
        let line = &*bakery.lines[0].id;
        let mut at = trial;
        let empty_for = TimeDelta::minutes(20);
        for product in &bakery.lines[0].products {
            let run = |rate| What::Changeover { to: Run { product: product.clone(), rate }, empty_for };
            let untouched = RateChange::sudden(100.0 * (beyond - 1.0), TimeDelta::minutes(75), Response::NoVenting);
            schedule.add(line, at, run(1.0));
            schedule.add(line, at + TimeDelta::minutes(90), What::RateChange(untouched));
            schedule.add(line, at + TimeDelta::minutes(180), run(beyond));
            at += TimeDelta::minutes(300);
        }
        let plant = Arc::new(plant(bakery));
        let mut simulation = Simulation::new(bakery.clone(), &schedule, seed, start, INTERVAL).unwrap();
        let mut builder = WindowBuilder::new(plant.clone(), LineIndex(0), alert::DetectionSettings::default().window);
        let mut windows = Vec::new();
        for said in simulation.until(at) {
            let Some(reading) = reading(&plant.signals, &said) else { continue };
            builder.push(&reading);
            windows.extend(std::iter::from_fn(|| builder.next_closed()));
        }
        Self { plant, windows, trial: trial.into() }
    }

    pub(crate) fn history(&self) -> &[Window] {
        let until = self.windows.partition_point(|window| window.ends <= self.trial);
        &self.windows[..until]
    }

    /// With what led up to it, so that a stretch is known to be at rest.
    pub(crate) fn trial(&self) -> &[Window] {
        let from = self.windows.partition_point(|window| window.starts < self.trial - Span::minutes(5));
        &self.windows[from..]
    }
}

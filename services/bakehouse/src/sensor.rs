//! Sensors lag, make noise, round what they show, and fail.

use chrono::TimeDelta;
use rand::Rng;
use rand_distr::StandardNormal;

use crate::motion::Wander;

/// What can be wrong with a sensor, or with what carries its readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fault {
    /// Shows the same value again and again.
    Freeze,
    /// Moves away from the truth, in its own unit per hour.
    Drift {
        /// Unit per hour.
        per_hour: f64,
    },
    /// Sends nothing.
    Dropout,
    /// Readings are sent late, with the time at which they were taken.
    Late {
        /// How late.
        by: TimeDelta,
    },
    /// Some readings are sent twice.
    Duplicate {
        /// Share of the readings.
        share: f64,
    },
}

/// A first-order lag.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Lag {
    value: f64,
    gain: f64,
}

impl Lag {
    pub(crate) fn new(value: f64, lag_s: f64, step_s: f64) -> Self {
        Self { value, gain: 1.0 - (-step_s / lag_s).exp() }
    }

    pub(crate) fn step(&mut self, truth: f64) {
        self.value += self.gain * (truth - self.value);
    }

    pub(crate) fn value(&self) -> f64 {
        self.value
    }
}

/// What a transmitter makes of the value it is given.
#[derive(Debug, Clone)]
pub(crate) struct Transmitter {
    bias: f64,
    noise: f64,
    wander: Wander,
    decimals: u8,
    cut_off: f64,
    frozen_at: Option<f64>,
}

/// How good a transmitter is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Quality {
    /// Standard deviation of the constant error.
    pub(crate) bias: f64,
    /// Standard deviation from one reading to the next.
    pub(crate) noise: f64,
    /// Standard deviation of the error that comes and goes within an hour.
    pub(crate) wander: f64,
    /// Decimals shown, which is also the resolution.
    pub(crate) decimals: u8,
    /// Anything below this is shown as 0.
    pub(crate) cut_off: f64,
}

impl Transmitter {
    pub(crate) fn new(quality: Quality, interval_s: f64, rng: &mut impl Rng) -> Self {
        Self {
            bias: quality.bias * rng.sample::<f64, _>(StandardNormal),
            noise: quality.noise,
            wander: Wander::new(quality.wander, 3600.0, interval_s),
            decimals: quality.decimals,
            cut_off: quality.cut_off,
            frozen_at: None,
        }
    }

    pub(crate) fn decimals(&self) -> u8 {
        self.decimals
    }

    /// What is shown for this value, with this much drift upon it.
    pub(crate) fn show(&mut self, value: f64, drift: f64, frozen: bool, rng: &mut impl Rng) -> f64 {
        let noise = self.noise * rng.sample::<f64, _>(StandardNormal);
        let error = self.bias + self.wander.step(rng) + noise + drift;
        let scale = 10_f64.powi(i32::from(self.decimals));
        let shown = match value + error {
            small if small < self.cut_off => 0.0,
            sensed => (sensed * scale).round() / scale,
        };
        match frozen {
            true => *self.frozen_at.get_or_insert(shown),
            false => {
                self.frozen_at = None;
                shown
            }
        }
    }
}

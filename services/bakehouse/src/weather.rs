//! The air that the oven draws in: day and night, and weather that comes and goes over days.

use std::f64::consts::TAU;

use physics::saturation;
use physics::units::{Celsius, Pascal};
use rand::Rng;

/// Air outside the oven.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Outside {
    pub(crate) temperature_c: f64,
    pub(crate) humidity_ratio: f64,
}

impl Outside {
    /// Vapour pressure over that of saturation, at this air pressure.
    pub(crate) fn relative_humidity(&self, pressure: Pascal) -> f64 {
        let saturated = saturation::pressure(Celsius(self.temperature_c)).map_or(f64::NAN, |saturated| saturated.0);
        crate::oven::moisture(self.humidity_ratio) * pressure.0 / saturated
    }
}

/// Weather as a sum of slow waves: it needs no state, so every line sees the same.
#[derive(Debug, Clone)]
pub(crate) struct Weather {
    phases: [f64; 4],
}

impl Weather {
    /// Periods of the waves, hours, and how much humidity each swings, kg/kg.
    const WAVES: [(f64, f64); 4] = [(24.0, 0.0006), (31.0, 0.0005), (67.0, 0.0010), (149.0, 0.0010)];

    pub(crate) fn new(rng: &mut impl Rng) -> Self {
        Self { phases: std::array::from_fn(|_| rng.gen_range(0.0..TAU)) }
    }

    /// The air at a time in seconds since 1970.
    pub(crate) fn at(&self, unix_s: f64) -> Outside {
        let hours = unix_s / 3600.0;
        let season = (TAU * (hours / 8766.0 - 0.54)).cos();
        let swing = |(phase, (period, by)): (&f64, &(f64, f64))| by * (TAU * hours / period + phase).sin();
        Outside {
            temperature_c: 24.0 + 4.0 * season + 3.0 * (TAU * (hours - 9.0) / 24.0).sin(),
            humidity_ratio: 0.0085 + 0.0020 * season + self.phases.iter().zip(&Self::WAVES).map(swing).sum::<f64>(),
        }
    }
}

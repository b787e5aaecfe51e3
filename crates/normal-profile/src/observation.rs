//! What is learned from, and the order in which its quantities stand in a vector.

use physics::units::MetrePerMinute;
use serde::{Deserialize, Serialize};

/// One window of baking, as the model sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// Start of the window, UTC microseconds since 1970.
    pub time_us: i64,
    /// The uninterrupted stretch of baking that the window belongs to.
    pub run: u32,
    /// Band speed, mean of the window.
    pub speed: MetrePerMinute,
    /// Natural logarithm of the humidity ratio in kg/kg, one per zone; NaN where it is not known.
    pub ln_humidity: Vec<f64>,
    /// Air temperature in °C, one per zone; NaN where it is not known.
    pub temperature: Vec<f64>,
}

/// How a rise of the band speed changed each zone in history: what practice makes of a rise.
#[derive(Debug, Clone, PartialEq)]
pub struct RiseChange {
    /// When the rise began, UTC microseconds since 1970.
    pub began_us: i64,
    /// ln(speed after / speed before).
    pub ln_speed_change: f64,
    /// Change of ln humidity ratio, one per zone, when the rise had just reached the zone.
    pub ln_humidity_change: Vec<f64>,
    /// The same some minutes after the rise had reached every zone; NaN where it did not last so long.
    pub settled_ln_humidity_change: Vec<f64>,
}

/// A quantity of the learned vector.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Natural logarithm of the humidity ratio of a zone (from 0).
    LnHumidity(usize),
    /// Air temperature of a zone (from 0).
    Temperature(usize),
}

/// The order of the learned vector: ln humidity of every zone, air temperature of the zones that
/// have one, and ln speed last, so that what is expected *at a speed* is everything before it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Columns {
    /// Number of zones.
    pub zones: usize,
    /// The zones (from 0) with an air temperature, ascending.
    pub temperature_zones: Vec<usize>,
}

impl Columns {
    /// The quantities before ln speed, in order.
    pub fn quantities(&self) -> impl Iterator<Item = Quantity> + '_ {
        let humidities = (0..self.zones).map(Quantity::LnHumidity);
        humidities.chain(self.temperature_zones.iter().copied().map(Quantity::Temperature))
    }

    /// Where the air temperature of a zone (from 0) stands; none if the zone has none.
    pub(crate) fn temperature(&self, zone: usize) -> Option<usize> {
        self.quantities().position(|quantity| quantity == Quantity::Temperature(zone))
    }

    /// Length of the whole vector, ln speed included.
    pub fn width(&self) -> usize {
        self.zones + self.temperature_zones.len() + 1
    }

    /// The vector of a window; NaN where a value is missing.
    pub(crate) fn vector(&self, observation: &Observation) -> Vec<f64> {
        let value = |quantity| match quantity {
            Quantity::LnHumidity(zone) => observation.ln_humidity.get(zone).copied(),
            Quantity::Temperature(zone) => observation.temperature.get(zone).copied(),
        };
        let mut vector: Vec<f64> = self.quantities().map(|quantity| value(quantity).unwrap_or(f64::NAN)).collect();
        vector.push(observation.speed.0.ln());
        vector
    }
}

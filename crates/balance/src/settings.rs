//! What a crew sets, and the air that the oven draws in.

use physics::units::{Celsius, HumidityRatio};

/// How an oven is set, zone by zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Dry air that each zone's exhaust draws, kg/h.
    pub exhaust_kg_h: Vec<f64>,
    /// Air temperature of each zone.
    pub temperatures: Vec<Celsius>,
    /// Steam, kg/h.
    pub steam_kg_h: f64,
}

/// The air that make-up air is drawn from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ambient {
    /// Its temperature.
    pub temperature: Celsius,
    /// Its humidity ratio.
    pub humidity: HumidityRatio,
}

impl Ambient {
    /// A bakery hall: 25 °C and 0.010 kg/kg (common practice).
    pub const HALL: Self = Self { temperature: Celsius(25.0), humidity: HumidityRatio(0.010) };
    /// Spread of the humidity of such a hall with weather and season, kg/kg, one standard deviation (common practice).
    pub const HALL_SPREAD: f64 = 0.0025;

    /// A hall as warm as any, whose air holds this much, kg/kg.
    #[must_use]
    pub fn holding(humidity: f64) -> Self {
        Self { humidity: HumidityRatio(humidity), ..Self::HALL }
    }
}

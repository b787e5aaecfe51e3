//! The oven as it was built.

use physics::combustion::{Fuel, HeatBasis};
use serde::{Deserialize, Serialize};

/// A tunnel oven.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Oven {
    /// Length of each zone in the direction of travel, m.
    pub zones_m: Vec<f64>,
    /// Water that burning gas leaves in the zones, kg per kWh net; 0 unless it burns in them.
    pub combustion_water_kg_per_kwh: f64,
}

impl Oven {
    /// An oven whose burners burn natural gas in its zones.
    #[must_use]
    pub fn direct(zones_m: Vec<f64>) -> Self {
        Self { zones_m, combustion_water_kg_per_kwh: Fuel::methane().water(HeatBasis::Net).0 }
    }

    /// An oven whose combustion gas, if any, stays out of its zones.
    #[must_use]
    pub fn indirect(zones_m: Vec<f64>) -> Self {
        Self { zones_m, combustion_water_kg_per_kwh: 0.0 }
    }

    /// Length of the whole oven, m.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        self.zones_m.iter().sum()
    }

    /// Minutes that dough is in the oven at a band speed in m/min.
    #[must_use]
    pub fn bake_time_min(&self, speed_m_min: f64) -> f64 {
        self.length_m() / speed_m_min
    }
}

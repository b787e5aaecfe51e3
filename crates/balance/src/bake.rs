//! What a product asks of the oven, as the plant's config tells it.

use physics::OutOfRange;
use physics::dough::Dough;
use physics::units::Celsius;
use serde::{Deserialize, Serialize};

/// Dough as it enters and bread as it leaves: common practice; 5 K move the heat of baking by some 2 %.
const DOUGH_ENTERS: Celsius = Celsius(28.0);
const BREAD_LEAVES: Celsius = Celsius(98.0);
const JOULE_PER_KILOWATT_HOUR: f64 = 3.6e6;

/// A product on the band.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bake {
    /// Dough per metre of band, kg/m.
    pub dough_kg_per_m: f64,
    /// Share of the dough's mass that is lost in the oven at the nominal bake time, 0 to 0.5.
    pub bake_loss: f64,
    /// Nominal bake time, min.
    pub bake_time_min: f64,
    /// Share of water in the dough by mass, 0.1 to 0.7.
    pub dough_moisture: f64,
}

impl Bake {
    /// Dough that enters at a band speed in m/min, kg/h.
    #[must_use]
    pub fn dough_kg_h(&self, speed_m_min: f64) -> f64 {
        self.dough_kg_per_m * speed_m_min * 60.0
    }

    /// Heat that the dough takes up for each kg of water that it gives off, kWh: warming all of it, and evaporation.
    ///
    /// # Errors
    /// The dough's moisture or its bake loss is out of range.
    pub fn heat_kwh_per_kg_water(&self) -> Result<f64, OutOfRange> {
        let dough = Dough::lean(self.dough_moisture, 0.0)?;
        let least = dough.least_heat(DOUGH_ENTERS, BREAD_LEAVES, self.bake_loss)?;
        Ok((least.warming.0 + least.evaporation.0) / self.bake_loss.max(1e-3) / JOULE_PER_KILOWATT_HOUR)
    }
}

//! What is learned of an oven and a product.

use physics::units::Celsius;

use crate::drying::DryingCurve;

/// What the balance needs to know beyond what is set and what was built.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameters {
    /// How the product dries at `usual` temperatures.
    pub drying: DryingCurve,
    /// Dry air that two neighbouring zones swap, kg/h.
    pub exchange_kg_h: f64,
    /// Share of the steam that drifts on into zone 2, 0 to 1.
    pub steam_into_zone_2: f64,
    /// Heat lost through the walls, kW per metre of oven.
    pub wall_kw_per_m: f64,
    /// Air temperatures at which the drying curve holds, one a zone.
    pub usual: Vec<Celsius>,
}

/// Temperature of a surface that dries, °C: heat reaches it in proportion to how much hotter the air is.
const DRYING_SURFACE: f64 = 100.0;

impl Parameters {
    /// How fast dough dries in a zone of this temperature, 1 at the usual one: (T - 100 °C) over the usual
    /// (T - 100 °C), about 0.8 % a degree. Heat transfer by convection to a wet surface; radiation rises a little faster.
    #[must_use]
    pub(crate) fn pace(&self, zone: usize, temperature: Celsius) -> f64 {
        let above = |t: Celsius| (t.0 - DRYING_SURFACE).max(5.0);
        above(temperature) / above(self.usual[zone])
    }
}

//! What is true of a simulated oven, to hold against what is learned of it.

use crate::bakery::{Bakery, Line};
use crate::oven::{EXCHANGE_KG_H, Oven, STEAM_INTO_ZONE_2, WALL_KW_PER_M};

/// An oven as the simulation has it.
#[derive(Debug, Clone)]
pub struct OvenTruth(Oven);

impl OvenTruth {
    /// Dry air that two neighbouring zones swap, kg/h.
    pub const EXCHANGE_KG_H: f64 = EXCHANGE_KG_H;
    /// Share of the steam that drifts into zone 2.
    pub const STEAM_INTO_ZONE_2: f64 = STEAM_INTO_ZONE_2;
    /// Loss through the walls, kW per metre of oven.
    pub const WALL_KW_PER_M: f64 = WALL_KW_PER_M;

    /// The oven of a line.
    pub fn of(bakery: &Bakery, line: &Line) -> Self {
        Self(Oven::new(bakery, line))
    }

    /// Dry air that a zone's exhaust draws with its damper at this opening (0 to 1), kg/h. Zones count from 0.
    pub fn exhaust_kg_h(&self, zone: usize, opening: f64) -> f64 {
        self.0.exhaust_kg_h(zone, opening)
    }
}

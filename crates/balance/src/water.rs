//! The water of every zone at rest: a balance over its air, solved for all zones at once.

use physics::OutOfRange;
use physics::air::moisture_from_humidity_ratio;
use physics::units::{Celsius, HumidityRatio};

use crate::bake::Bake;
use crate::oven::Oven;
use crate::parameters::Parameters;
use crate::settings::{Ambient, Settings};
use crate::tridiagonal;

/// Mean heat capacity of dry air and of vapour between a hall and an oven, kWh/(kg K): 1.016 and 1.92 kJ/(kg K),
/// within 0.5 % of the enthalpies of `physics::air` between 25 and 180 to 260 °C.
const DRY_AIR_KWH_PER_KG_K: f64 = 1.016 / 3600.0;
const VAPOUR_KWH_PER_KG_K: f64 = 1.92 / 3600.0;
/// Vapour leaves the dough at this temperature; what heats it further is part of the exhaust.
const VAPOUR_RISES: f64 = 97.0;

/// An oven and a product, with what is learned of both.
#[derive(Debug, Clone, Copy)]
pub struct WaterBalance<'a> {
    oven: &'a Oven,
    bake: &'a Bake,
    parameters: &'a Parameters,
    ambient: Ambient,
    heat_kwh_per_kg_water: f64,
}

/// One zone at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneState {
    /// Humidity of its air.
    pub humidity: HumidityRatio,
    /// Water given off by dough, kg/h.
    pub evaporation_kg_h: f64,
    /// Steam that enters, kg/h.
    pub steam_kg_h: f64,
    /// Water left by burning gas, kg/h.
    pub combustion_kg_h: f64,
    /// Water gained from the neighbours less water lost to them, kg/h.
    pub exchange_kg_h: f64,
    /// Dry air drawn by the exhaust, kg/h.
    pub exhaust_kg_h: f64,
    /// Heat taken up by the dough, kW.
    pub dough_kw: f64,
    /// Heat carried off by the exhaust beyond what evaporation took, kW.
    pub exhaust_kw: f64,
    /// Heat lost through the walls, kW.
    pub wall_kw: f64,
}

impl ZoneState {
    /// Heat that the zone needs, kW.
    #[must_use]
    pub fn heat_kw(&self) -> f64 {
        self.dough_kw + self.exhaust_kw + self.wall_kw
    }

    /// Moisture by volume, %.
    #[must_use]
    pub fn moisture_pct(&self) -> f64 {
        moisture_from_humidity_ratio(self.humidity).map_or(f64::NAN, |moisture| 100.0 * moisture.0)
    }
}

/// Heat carried off by the exhaust, kWh per kg of its dry air: `fixed + per_humidity · w`.
struct Carried {
    fixed: f64,
    per_humidity: f64,
}

impl<'a> WaterBalance<'a> {
    /// The balance of a product in an oven.
    ///
    /// # Errors
    /// The dough's moisture or bake loss is out of range.
    pub fn new(
        oven: &'a Oven,
        bake: &'a Bake,
        parameters: &'a Parameters,
        ambient: Ambient,
    ) -> Result<Self, OutOfRange> {
        Ok(Self { oven, bake, parameters, ambient, heat_kwh_per_kg_water: bake.heat_kwh_per_kg_water()? })
    }

    /// Water that the dough gives off in each zone at a band speed, kg/h.
    #[must_use]
    pub fn evaporation_kg_h(&self, speed_m_min: f64, temperatures: &[Celsius]) -> Vec<f64> {
        let mut age_min = 0.0;
        let mut dried = 0.0;
        let lost_kg_h = self.bake.dough_kg_h(speed_m_min) * self.bake.bake_loss;
        let zones = self.oven.zones_m.iter().zip(temperatures).enumerate();
        let evaporation = zones.map(|(zone, (length_m, temperature))| {
            age_min += length_m / speed_m_min * self.parameters.pace(zone, *temperature);
            let before = std::mem::replace(&mut dried, self.parameters.drying.dried(age_min, self.bake.bake_time_min));
            lost_kg_h * (dried - before)
        });
        evaporation.collect()
    }

    /// Every zone at rest at a band speed in m/min, above 0, with these settings, of as many zones as the oven has.
    ///
    /// Burning gas adds water in proportion to the heat that the zone needs, which itself holds what its exhaust
    /// carries off: both are linear in the humidity, so that one solution of a tridiagonal system gives all zones.
    #[must_use]
    pub fn solve(&self, speed_m_min: f64, settings: &Settings) -> Vec<ZoneState> {
        let evaporation = self.evaporation_kg_h(speed_m_min, &settings.temperatures);
        let exchange = self.parameters.exchange_kg_h;
        let zones = evaporation.len();
        let (mut diagonal, mut right) = (vec![0.0; zones], vec![0.0; zones]);
        for zone in 0..zones {
            let exhaust = self.exhaust_kg_h(zone, settings);
            let carried = self.carried(settings.temperatures[zone]);
            let gas = self.oven.combustion_water_kg_per_kwh;
            let neighbours = f64::from(u8::from(zone > 0)) + f64::from(u8::from(zone + 1 < zones));
            diagonal[zone] = exhaust * (1.0 - gas * carried.per_humidity) + neighbours * exchange;
            let standing_kw = evaporation[zone] * self.heat_kwh_per_kg_water + self.wall_kw(zone);
            right[zone] = evaporation[zone]
                + self.steam_kg_h(zone, settings)
                + exhaust * self.ambient.humidity.0
                + gas * (standing_kw + exhaust * carried.fixed);
        }
        let humidity = tridiagonal::solve(&diagonal, -exchange, &right);
        (0..zones).map(|zone| self.state(zone, &humidity, evaporation[zone], settings)).collect()
    }

    fn state(&self, zone: usize, humidity: &[f64], evaporation_kg_h: f64, settings: &Settings) -> ZoneState {
        let here = humidity[zone];
        let exhaust_kg_h = self.exhaust_kg_h(zone, settings);
        let carried = self.carried(settings.temperatures[zone]);
        let neighbours = [zone.checked_sub(1), Some(zone + 1)];
        let gained = neighbours.into_iter().flatten().filter_map(|other| humidity.get(other)).map(|w| w - here);
        let mut state = ZoneState {
            humidity: HumidityRatio(here),
            evaporation_kg_h,
            steam_kg_h: self.steam_kg_h(zone, settings),
            combustion_kg_h: 0.0,
            exchange_kg_h: self.parameters.exchange_kg_h * gained.sum::<f64>(),
            exhaust_kg_h,
            dough_kw: evaporation_kg_h * self.heat_kwh_per_kg_water,
            exhaust_kw: exhaust_kg_h * (carried.fixed + carried.per_humidity * here),
            wall_kw: self.wall_kw(zone),
        };
        state.combustion_kg_h = self.oven.combustion_water_kg_per_kwh * state.heat_kw();
        state
    }

    /// Dry air that a zone's exhaust draws, kg/h.
    fn exhaust_kg_h(&self, zone: usize, settings: &Settings) -> f64 {
        self.parameters.exhaust_kg_h(zone, settings.dampers[zone])
    }

    fn steam_kg_h(&self, zone: usize, settings: &Settings) -> f64 {
        let drifts = if self.oven.zones_m.len() > 1 { self.parameters.steam_into_zone_2 } else { 0.0 };
        match zone {
            0 => (1.0 - drifts) * settings.steam_kg_h,
            1 => drifts * settings.steam_kg_h,
            _ => 0.0,
        }
    }

    fn wall_kw(&self, zone: usize) -> f64 {
        self.parameters.wall_kw_per_m * self.oven.zones_m[zone]
    }

    /// Make-up air is heated from the hall's temperature, its vapour too; vapour from dough and steam from 97 °C on.
    fn carried(&self, temperature: Celsius) -> Carried {
        let from_hall = temperature.0 - self.ambient.temperature.0;
        let from_dough = temperature.0 - VAPOUR_RISES;
        let vapour_of_hall = self.ambient.humidity.0 * VAPOUR_KWH_PER_KG_K * (from_hall - from_dough);
        Carried {
            fixed: DRY_AIR_KWH_PER_KG_K * from_hall + vapour_of_hall,
            per_humidity: VAPOUR_KWH_PER_KG_K * from_dough,
        }
    }
}

#[cfg(test)]
mod tests;

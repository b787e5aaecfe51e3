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
/// A kg of exhaust that removes less water than this, kg, is no way to hold a humidity: a large fan would not do it.
const LEAST_REMOVED: f64 = 0.002;

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

struct Removed {
    per_humidity: f64,
    not_below: f64,
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

    /// The same drawing in other air.
    #[must_use]
    pub fn in_air(self, ambient: Ambient) -> Self {
        Self { ambient, ..self }
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
        let (mut diagonal, mut right) = (Vec::new(), Vec::new());
        for (zone, evaporation) in evaporation.iter().enumerate() {
            let removed = self.removed(settings.temperatures[zone]);
            let exhaust = settings.exhaust_kg_h[zone];
            diagonal.push(exhaust * removed.per_humidity + self.neighbours(zone) * exchange);
            right.push(self.standing_kg_h(zone, *evaporation, settings.steam_kg_h) + exhaust * removed.not_below);
        }
        let humidity = tridiagonal::solve(&diagonal, -exchange, &right);
        (0..humidity.len()).map(|zone| self.state(zone, &humidity, evaporation[zone], settings)).collect()
    }

    /// The exhaust that holds these humidities at a band speed in m/min, kg/h of dry air a zone: the same balance
    /// asked the other way round. At least `least_kg_h`, where a zone would need less or no exhaust at all does it.
    #[must_use]
    pub fn exhaust_to_hold(
        &self,
        speed_m_min: f64,
        humidity: &[HumidityRatio],
        temperatures: &[Celsius],
        steam_kg_h: f64,
        least_kg_h: f64,
    ) -> Vec<f64> {
        let evaporation = self.evaporation_kg_h(speed_m_min, temperatures);
        let needed = evaporation.iter().enumerate().map(|(zone, evaporation)| {
            let removed = self.removed(temperatures[zone]);
            let gained: f64 = around(zone, humidity).map(|other| other.0 - humidity[zone].0).sum();
            let water = self.standing_kg_h(zone, *evaporation, steam_kg_h) + self.parameters.exchange_kg_h * gained;
            let per_kg = (removed.per_humidity * humidity[zone].0 - removed.not_below).max(LEAST_REMOVED);
            (water / per_kg).max(least_kg_h)
        });
        needed.collect()
    }

    fn state(&self, zone: usize, humidity: &[f64], evaporation_kg_h: f64, settings: &Settings) -> ZoneState {
        let here = humidity[zone];
        let exhaust_kg_h = settings.exhaust_kg_h[zone];
        let carried = self.carried(settings.temperatures[zone]);
        let gained = around(zone, humidity).map(|other| other - here);
        let mut state = ZoneState {
            humidity: HumidityRatio(here),
            evaporation_kg_h,
            steam_kg_h: self.steam_kg_h(zone, settings.steam_kg_h),
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

    /// Water that enters a zone apart from its neighbours' and from the gas that heats its exhaust, kg/h.
    fn standing_kg_h(&self, zone: usize, evaporation_kg_h: f64, steam_kg_h: f64) -> f64 {
        let standing_kw = evaporation_kg_h * self.heat_kwh_per_kg_water + self.wall_kw(zone);
        evaporation_kg_h + self.steam_kg_h(zone, steam_kg_h) + self.oven.combustion_water_kg_per_kwh * standing_kw
    }

    fn steam_kg_h(&self, zone: usize, steam_kg_h: f64) -> f64 {
        let drifts = if self.oven.zones_m.len() > 1 { self.parameters.steam_into_zone_2 } else { 0.0 };
        match zone {
            0 => (1.0 - drifts) * steam_kg_h,
            1 => drifts * steam_kg_h,
            _ => 0.0,
        }
    }

    fn neighbours(&self, zone: usize) -> f64 {
        around(zone, &self.oven.zones_m).count() as f64
    }

    fn wall_kw(&self, zone: usize) -> f64 {
        self.parameters.wall_kw_per_m * self.oven.zones_m[zone]
    }

    /// What a kg of dry exhaust removes less what it and the gas that heats it bring: `per_humidity w - not_below`, kg.
    fn removed(&self, temperature: Celsius) -> Removed {
        let carried = self.carried(temperature);
        let gas = self.oven.combustion_water_kg_per_kwh;
        Removed {
            per_humidity: 1.0 - gas * carried.per_humidity,
            not_below: self.ambient.humidity.0 + gas * carried.fixed,
        }
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

/// The neighbours of a zone, among as many as there are.
fn around<T: Copy>(zone: usize, of: &[T]) -> impl Iterator<Item = T> + '_ {
    [zone.checked_sub(1), Some(zone + 1)].into_iter().flatten().filter_map(|other| of.get(other).copied())
}

#[cfg(test)]
mod tests;

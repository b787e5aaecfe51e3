//! A record: the figures of a stretch of time, made of its sums.

use physics::units::Pascal;
use reading::{Firing, LineIndex, Plant};

use super::price::Used;
use super::settings::EnergySettings;
use super::tally::{Metered, Tally};
use super::waste::{self, ExcessMoisture, Waste};

/// Where the mass of good product comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GoodMass {
    /// From the plant's counter.
    Counted,
    /// Dough less bake loss: everything baked counts as good.
    Baked,
}

/// The energy figures of a line over some time. `None` is not known; [`missing`](super::missing) says why.
#[derive(Debug, Clone, PartialEq)]
pub struct EnergyRecord {
    /// Time with the oven full of one product, h.
    pub baking_h: f64,
    /// Time in which no dough entered, h.
    pub idle_h: f64,
    /// Dough that entered, kg.
    pub dough_kg: Option<f64>,
    /// Good product, kg.
    pub good_kg: Option<f64>,
    /// Where that comes from.
    pub good_mass: Option<GoodMass>,
    /// Water that the dough lost in the oven, kg.
    pub evaporated_kg: Option<f64>,
    /// Gas of the oven, m³ as the meter counts them.
    pub gas_m3: Option<f64>,
    /// The same, kWh gross.
    pub gas_kwh_gross: Option<f64>,
    /// The same, kWh net.
    pub gas_kwh_net: Option<f64>,
    /// Electricity, kWh.
    pub electricity_kwh: Option<f64>,
    /// Steam, kg.
    pub steam_kg: Option<f64>,
    /// Fuel of the boiler for it, kWh gross.
    pub steam_kwh: Option<f64>,
    /// All of it: gas gross, electricity, steam; kWh.
    pub energy_kwh: Option<f64>,
    /// The part while no dough entered, kWh.
    pub idle_kwh: Option<f64>,
    /// The energy performance indicator: kWh per tonne of good product. Never shown without the moisture below.
    pub kwh_per_t: Option<f64>,
    /// Mean moisture of each zone while baking, % vol.
    pub moisture_pct: Vec<Option<f64>>,
    /// Mean band speed while baking, m/min.
    pub band_speed_m_min: Option<f64>,
    /// Mean temperature of the air outside the oven, °C.
    pub ambient_c: Option<f64>,
    /// What the energy cost, in the plant's currency.
    pub cost: Option<f64>,
    /// Its carbon dioxide, kg.
    pub co2_kg: Option<f64>,
    /// Steam longer than useful, or without product.
    pub over_steaming: Option<Waste>,
    /// Moisture of zone 3 and later above normal.
    pub excess_moisture: Option<ExcessMoisture>,
    /// Lowest share of the time for which a meter or the production is known, %.
    pub coverage_pct: f64,
}

impl EnergyRecord {
    /// The wettest zone, counted from 1, and its moisture, % vol.
    #[must_use]
    pub fn peak(&self) -> Option<(usize, f64)> {
        let known = self.moisture_pct.iter().enumerate().filter_map(|(zone, moisture)| Some((zone + 1, (*moisture)?)));
        known.max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Moisture of zone 3, of the last zone in an oven with fewer; % vol.
    #[must_use]
    pub fn late_moisture_pct(&self) -> Option<f64> {
        *self.moisture_pct.get(2).or(self.moisture_pct.last())?
    }

    /// What a waste costs at the price of gas.
    #[must_use]
    pub fn cost_of(waste: Option<Waste>, settings: &EnergySettings) -> Option<f64> {
        Some(waste?.kwh * settings.prices.gas_per_kwh?)
    }
}

/// The record of these sums.
#[must_use]
pub fn record(tally: &Tally, plant: &Plant, line: LineIndex, settings: &EnergySettings) -> EnergyRecord {
    let firing = plant.lines[line.0].firing;
    let pressure: Pascal = plant.pressure;
    let known = |metered: &Metered| (metered.known_h > 0.0).then_some(metered.amount);
    let amount = |metered: Option<Metered>| metered.as_ref().and_then(known);
    let (dough_kg, evaporated_kg) = (known(&tally.dough), known(&tally.evaporated));
    let baked = dough_kg.zip(evaporated_kg).map(|(dough, water)| dough - water);
    let good_kg = tally.good_kg.or(baked);
    let gas_m3 = amount(tally.gas);
    let gas_kwh = |gas_m3: f64| settings.gas.map(|value| value.gross_kwh(gas_m3));
    let gas_kwh_gross = gas_m3.and_then(gas_kwh);
    let gas_kwh_net = gas_m3.and_then(|gas| Some(settings.gas?.net_kwh(gas)));
    let steam_kwh_per_kg = waste::steam_kwh_per_kg(settings);
    let steam_kg = amount(tally.steam);
    let steam_kwh = steam_kg.zip(steam_kwh_per_kg).map(|(kg, each)| kg * each);
    let electricity_kwh = amount(tally.electricity);

    // Steam and electricity that nobody meters are no part of the account; the oven's own heat must be.
    let heat_known = if firing == Firing::Electric { electricity_kwh } else { gas_kwh_gross };
    let sum = |gas: f64, electricity: f64, steam: f64| gas + electricity + steam;
    let energy_kwh =
        heat_known.map(|_| sum(gas_kwh_gross.unwrap_or(0.0), electricity_kwh.unwrap_or(0.0), steam_kwh.unwrap_or(0.0)));
    let idle_kwh = energy_kwh.map(|_| {
        let idle = |metered: Option<Metered>| metered.map_or(0.0, |metered| metered.idle);
        let steam = idle(tally.steam) * steam_kwh_per_kg.unwrap_or(0.0);
        sum(gas_kwh(idle(tally.gas)).unwrap_or(0.0), idle(tally.electricity), steam)
    });
    let used = Used {
        gas: energy_kwh.map(|_| gas_kwh_gross.unwrap_or(0.0) + steam_kwh.unwrap_or(0.0)),
        electricity: Some(electricity_kwh.unwrap_or(0.0)),
    };
    EnergyRecord {
        baking_h: tally.baking_h,
        idle_h: tally.hours - tally.fed_h,
        dough_kg,
        good_kg,
        good_mass: good_kg.map(|_| if tally.good_kg.is_some() { GoodMass::Counted } else { GoodMass::Baked }),
        evaporated_kg,
        gas_m3,
        gas_kwh_gross,
        gas_kwh_net,
        electricity_kwh,
        steam_kg,
        steam_kwh,
        energy_kwh,
        idle_kwh,
        kwh_per_t: energy_kwh.zip(good_kg.filter(|good| *good > 0.0)).map(|(kwh, good)| kwh / good * 1000.0),
        moisture_pct: tally.zones.iter().map(|zone| zone.moisture.value().map(|share| 100.0 * share)).collect(),
        band_speed_m_min: tally.speed.value(),
        ambient_c: tally.ambient.value(),
        cost: settings.prices.cost(used),
        co2_kg: settings.carbon.kg(used),
        over_steaming: waste::over_steaming(tally, pressure, settings),
        excess_moisture: waste::excess_moisture(tally, firing, gas_kwh_net, pressure, settings),
        coverage_pct: coverage_pct(tally),
    }
}

fn coverage_pct(tally: &Tally) -> f64 {
    let share = |known_h: f64, of_h: f64| if of_h > 0.0 { known_h / of_h } else { 1.0 };
    let meters = [tally.gas, tally.electricity, tally.steam].into_iter().flatten();
    let lowest = meters.map(|metered| share(metered.known_h, tally.hours)).fold(1.0, f64::min);
    100.0 * lowest.min(share(tally.dough.known_h, tally.fed_h)).min(1.0)
}

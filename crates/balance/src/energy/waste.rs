//! Two wastes and their price: steam longer than useful, and zones wetter than normal.

use physics::air::MoistAir;
use physics::steam::injection::heat_of_steam;
use physics::steam::nozzle::Supply;
use physics::units::{Celsius, HumidityRatio, Pascal};
use reading::Firing;

use super::gas;
use super::settings::EnergySettings;
use super::tally::{Tally, ZoneTally};

const JOULE_PER_KILOWATT_HOUR: f64 = 3.6e6;
/// The zones from the third on; in a shorter oven the last.
const FIRST_LATE_ZONE: usize = 2;
const NEARLY_ALL: f64 = 0.95;

/// Water that need not have been there, and the heat that it took.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Waste {
    /// Water, kg.
    pub kg: f64,
    /// Heat, kWh: of steam the fuel of the boiler (gross) and the oven's heat to carry it out; of excess moisture the
    /// heat of its vapour at the zone's temperature.
    pub kwh: f64,
}

/// Fuel of the boiler for a kg of steam, kWh gross.
pub(crate) fn steam_kwh_per_kg(settings: &EnergySettings) -> Option<f64> {
    let boiler = settings.boiler;
    let steam = Supply::saturated(boiler.steam_pressure, 1.0).ok()?;
    let feed = physics::steam::liquid(boiler.boiler.feed_water, Pascal::from_bar(200.0)).ok()?;
    Some((steam.enthalpy().0 - feed.enthalpy.0) / boiler.boiler.efficiency / JOULE_PER_KILOWATT_HOUR)
}

/// The steam that did nothing, with what it costs in the boiler and again in the oven that carries it out.
///
/// `None` without steam, or without the humidity and temperature of the exhaust.
pub(crate) fn over_steaming(tally: &Tally, pressure: Pascal, settings: &EnergySettings) -> Option<Waste> {
    tally.steam?;
    let kg = tally.wasted_steam_kg;
    let steam = Supply::saturated(settings.boiler.steam_pressure, 1.0).ok()?;
    let outside = outside(tally, pressure, settings)?;
    let heat = heat_of_steam(&steam, settings.boiler.boiler, &exhaust(tally, pressure)?, &outside).ok()?;
    // Steam hotter than the exhaust gives heat to the oven: no waste of its own.
    let oven = heat.oven.0.max(0.0);
    Some(Waste { kg, kwh: kg * (heat.boiler.0 + oven) / JOULE_PER_KILOWATT_HOUR })
}

/// Water that left zone 3 and those after it above what is normal there, with the heat of its vapour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExcessMoisture {
    /// How much; nought if drier.
    pub waste: Waste,
    /// The zone, from 1, whose exhaust carried the most of it, by a learned balance; `None` where none was learned, and
    /// the exhaust is taken as spread evenly over the zones: an estimate, as good as that.
    pub most_by_zone: Option<usize>,
}

/// `None` without a normal, or without humidity in every zone.
pub(crate) fn excess_moisture(
    tally: &Tally,
    firing: Firing,
    gas_kwh_net: Option<f64>,
    pressure: Pascal,
    settings: &EnergySettings,
) -> Option<ExcessMoisture> {
    let first_late = FIRST_LATE_ZONE.min(tally.zones.len().saturating_sub(1));
    let late = &tally.zones[first_late..];
    let carried = carried_by_exhaust(late).or_else(|| {
        let each = even_exhaust_kg(tally, firing, gas_kwh_net, settings)?;
        late.iter().map(|zone| Some(each * zone.above_normal.value()?)).collect()
    })?;
    let (mut kg, mut kwh) = (0.0, 0.0);
    for (zone, carried_kg) in late.iter().zip(&carried) {
        kg += carried_kg;
        kwh += carried_kg * vapour_kwh_per_kg(Celsius(zone.temperature.value()?), pressure)?;
    }
    let most = carried.iter().enumerate().max_by(|one, other| one.1.total_cmp(other.1));
    let most_by_zone = most.filter(|_| carried_by_exhaust(late).is_some()).map(|(place, _)| first_late + place + 1);
    Some(ExcessMoisture { waste: Waste { kg: kg.max(0.0), kwh: kwh.max(0.0) }, most_by_zone })
}

/// What each exhaust carried off too much by the learned balance, kg; `None` where it is not known for nearly all of the
/// time for which a normal is.
fn carried_by_exhaust(late: &[ZoneTally]) -> Option<Vec<f64>> {
    let known = |zone: &ZoneTally| {
        let hours = zone.above_normal.hours();
        (hours > 0.0 && zone.excess.known_h >= NEARLY_ALL * hours).then_some(zone.excess.amount)
    };
    late.iter().map(known).collect()
}

/// Dry air that each zone's exhaust drew if all drew alike, kg: as much as carries off the water that came in.
fn even_exhaust_kg(tally: &Tally, firing: Firing, gas_kwh_net: Option<f64>, settings: &EnergySettings) -> Option<f64> {
    let zones = tally.zones.len() as f64;
    let humidity = tally.zones.iter().map(|zone| zone.humidity.value()).sum::<Option<f64>>()? / zones;
    let combustion = match firing {
        Firing::Direct => gas::combustion_water_kg(gas_kwh_net?),
        Firing::Indirect | Firing::Electric => 0.0,
    };
    let steam = tally.steam.map_or(0.0, |steam| steam.amount);
    if tally.evaporated.known_h == 0.0 || humidity <= settings.ambient_humidity.0 {
        return None;
    }
    // Only while dough enters is there the water that the balance needs.
    let baking = if tally.hours > 0.0 { tally.fed_h / tally.hours } else { 0.0 };
    let water_kg = tally.evaporated.amount + (steam + combustion) * baking;
    Some(water_kg / (humidity - settings.ambient_humidity.0) / zones)
}

/// Heat of a kg of vapour at this temperature over liquid water at 0 °C, kWh: by what air gains with it.
fn vapour_kwh_per_kg(temperature: Celsius, pressure: Pascal) -> Option<f64> {
    let with =
        |ratio| Some(MoistAir::from_humidity_ratio(temperature, HumidityRatio(ratio), pressure).ok()?.enthalpy().0);
    Some((with(0.2)? - with(0.1)?) / 0.1 / JOULE_PER_KILOWATT_HOUR)
}

/// The exhaust of all zones together, as if they drew alike.
fn exhaust(tally: &Tally, pressure: Pascal) -> Option<MoistAir> {
    let zones = tally.zones.len() as f64;
    let temperature = tally.zones.iter().map(|zone| zone.temperature.value()).sum::<Option<f64>>()? / zones;
    let humidity = tally.zones.iter().map(|zone| zone.humidity.value()).sum::<Option<f64>>()? / zones;
    MoistAir::from_humidity_ratio(Celsius(temperature), HumidityRatio(humidity), pressure).ok()
}

fn outside(tally: &Tally, pressure: Pascal, settings: &EnergySettings) -> Option<MoistAir> {
    let temperature = tally.ambient.value().map_or(settings.ambient_temperature, Celsius);
    MoistAir::from_humidity_ratio(temperature, settings.ambient_humidity, pressure).ok()
}

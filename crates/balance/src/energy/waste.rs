//! Two wastes and their price: steam longer than useful, and zones wetter than normal.

use physics::air::MoistAir;
use physics::steam::injection::heat_of_steam;
use physics::steam::nozzle::Supply;
use physics::units::{Celsius, HumidityRatio, Pascal};
use reading::Firing;

use super::gas;
use super::settings::EnergySettings;
use super::tally::Tally;

const JOULE_PER_KILOWATT_HOUR: f64 = 3.6e6;

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

/// Water that leaves zone 3 and those after it above what is normal there, with the heat of its vapour.
///
/// The exhaust follows from the water that came in (evaporation, steam, combustion), spread evenly over the zones:
/// an estimate, as good as that. `None` without a normal, or without humidity in every zone. Nought if drier.
pub(crate) fn excess_moisture(
    tally: &Tally,
    firing: Firing,
    gas_kwh_net: Option<f64>,
    pressure: Pascal,
    settings: &EnergySettings,
) -> Option<Waste> {
    let zones = tally.zones.len();
    let humidity = tally.zones.iter().map(|zone| zone.humidity.value()).sum::<Option<f64>>()? / zones as f64;
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
    let dry_air_kg = water_kg / (humidity - settings.ambient_humidity.0);
    let late = &tally.zones[2.min(zones.saturating_sub(1))..];
    let above = late.iter().map(|zone| zone.above_normal.value()).sum::<Option<f64>>()?;
    let kg = (dry_air_kg / zones as f64 * above).max(0.0);
    let temperature = late.iter().map(|zone| zone.temperature.value()).sum::<Option<f64>>()? / late.len() as f64;
    Some(Waste { kg, kwh: kg * vapour_kwh_per_kg(Celsius(temperature), pressure)? })
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

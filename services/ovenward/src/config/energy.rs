//! `[energy]`: what the meters do not say about energy, and the period of the baseline.

use balance::energy::{BoilerSettings, CalorificValue, Carbon, CarbonFactor, EnergySettings, Prices};
use chrono::NaiveDate;
use physics::combustion::HeatBasis;
use physics::steam::injection::Boiler;
use physics::units::{Celsius, Pascal, Seconds};

use super::costs::Costs;
use super::key::{Choice, Key, Number};
use super::section::Section;

const GAS_HEAT: Number = Number::optional("gas_kwh_per_m3", "11.1").within(1.0, 40.0, "kWh per m3");
const GAS_BASIS: Choice<HeatBasis> = Choice {
    key: Key::optional("gas_basis", "\"gross\""),
    words: &[("gross", HeatBasis::Gross), ("net", HeatBasis::Net)],
};
const GAS_CO2: Number = Number::optional("gas_co2_kg_per_kwh", "0.183").within(0.0, 2.0, "kg per gross kWh");
const GAS_CO2_SOURCE: Key = Key::optional("gas_co2_source", "\"supplier's statement of 2026, gross\"");
const ELECTRICITY_CO2: Number = Number::optional("electricity_co2_kg_per_kwh", "0.2").within(0.0, 2.0, "kg per kWh");
const ELECTRICITY_CO2_SOURCE: Key = Key::optional("electricity_co2_source", "\"supplier's statement of 2026\"");
const STEAM_PRESSURE: Number = Number::optional("steam_pressure_bar", "1.5").within(1.0, 20.0, "bar absolute");
const EFFICIENCY: Number = Number::optional("boiler_efficiency_pct", "85").within(10.0, 100.0, "% of gross");
const FEED_WATER: Number = Number::optional("boiler_feed_water_c", "80").within(0.0, 150.0, "degC");
const USEFUL_STEAM: Number = Number::optional("useful_steam_s", "10").within(1.0, 600.0, "s");
const BASELINE_FROM: Key = Key::optional("baseline_from", "\"2026-01-05\"");
const BASELINE_TO: Key = Key::optional("baseline_to", "\"2026-03-30\"");

/// What the config says about energy.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct EnergyConfig {
    /// For the records; prices come from `[costs]`.
    pub settings: EnergySettings,
    /// The baseline period: local dates, the second one no longer part of it.
    pub baseline: Option<(NaiveDate, NaiveDate)>,
}

pub(super) fn read(section: &Section<'_>, costs: Option<&Costs>) -> EnergyConfig {
    let defaults = EnergySettings::default();
    let gas = read_gas(section);
    let gas_co2 = read_factor(section, &GAS_CO2, &GAS_CO2_SOURCE);
    let electricity_co2 = read_factor(section, &ELECTRICITY_CO2, &ELECTRICITY_CO2_SOURCE);
    let boiler = defaults.boiler;
    let boiler = BoilerSettings {
        steam_pressure: section.number(&STEAM_PRESSURE).map_or(boiler.steam_pressure, Pascal::from_bar),
        boiler: Boiler {
            feed_water: section.number(&FEED_WATER).map_or(boiler.boiler.feed_water, Celsius),
            efficiency: section.number(&EFFICIENCY).map_or(boiler.boiler.efficiency, |percent| percent / 100.0),
        },
    };
    let useful_steam = section.number(&USEFUL_STEAM).map_or(defaults.useful_steam, Seconds);
    let baseline = read_baseline(section);
    section.finish();
    let prices = Prices {
        gas_per_kwh: costs.and_then(|costs| costs.gas_per_kwh),
        electricity_per_kwh: costs.and_then(|costs| costs.electricity_per_kwh),
    };
    let carbon = Carbon { gas: gas_co2, electricity: electricity_co2 };
    EnergyConfig { settings: EnergySettings { gas, boiler, useful_steam, prices, carbon, ..defaults }, baseline }
}

/// A calorific value without its basis is a tenth wrong one way or the other.
fn read_gas(section: &Section<'_>) -> Option<CalorificValue> {
    let heat = section.number(&GAS_HEAT);
    let basis = section.choice(&GAS_BASIS);
    if heat.is_some() && section.value(GAS_BASIS.key.name).is_none() {
        let message = "gas_kwh_per_m3 says nothing without its basis";
        section.faults().add(section.at_key(GAS_HEAT.key.name), message, "gas_basis = \"gross\" or \"net\"");
    }
    Some(CalorificValue { kwh_per_m3: heat?, basis: basis?.into_inner() })
}

/// A factor without its source stands up in no audit.
fn read_factor(section: &Section<'_>, factor: &Number, source: &Key) -> Option<CarbonFactor> {
    let kg_per_kwh = section.number(factor);
    let named = section.text(source);
    if kg_per_kwh.is_some() && section.value(source.name).is_none() {
        let message = format!("{} says nothing without its source", factor.key.name);
        section.faults().add(section.at_key(factor.key.name), message, source.advice());
    }
    Some(CarbonFactor { kg_per_kwh: kg_per_kwh?, source: named?.into_inner() })
}

fn read_baseline(section: &Section<'_>) -> Option<(NaiveDate, NaiveDate)> {
    let date = |key: &Key| {
        let text = section.text(key)?;
        let date = text.get_ref().parse::<NaiveDate>().ok();
        if date.is_none() {
            let message = format!("{} {:?} is no date", key.name, text.get_ref());
            section.faults().add(text.span().start, message, key.advice());
        }
        date
    };
    let (from, to) = (date(&BASELINE_FROM), date(&BASELINE_TO));
    let has = |key: &Key| section.value(key.name).is_some();
    if has(&BASELINE_FROM) != has(&BASELINE_TO) {
        let (there, other) =
            if has(&BASELINE_FROM) { (BASELINE_FROM, BASELINE_TO) } else { (BASELINE_TO, BASELINE_FROM) };
        let message = format!("{} is one end of a period without the other", there.name);
        section.faults().add(section.at_key(there.name), message, other.advice());
    }
    let (from, to) = (from?, to?);
    if to <= from {
        let message = format!("baseline_to {to} is not after baseline_from {from}");
        section.faults().add(section.at_key(BASELINE_TO.name), message, format!("a date after {from}"));
        return None;
    }
    Some((from, to))
}

//! What a line lacks for its energy record, what would give it, and what can be computed all the same.

use std::fmt;

use reading::{Firing, LineIndex, Plant, Quantity};

use super::settings::EnergySettings;

/// Something that a record lacks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// What is not there: a signal or a setting.
    pub lacks: String,
    /// What to write, and where.
    pub write: String,
    /// What cannot be computed, or only otherwise.
    pub without: String,
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; write {}", self.lacks, self.without, self.write)
    }
}

/// Everything that the records of a line lack, the gravest first.
#[must_use]
pub fn missing(plant: &Plant, line: LineIndex, settings: &EnergySettings) -> Vec<Missing> {
    let has = |quantity| plant.signals.of_line(line).any(|(_, signal)| signal.quantity == quantity);
    let firing = plant.lines[line.0].firing;
    let burns = firing != Firing::Electric;
    let mut found = Vec::new();
    let mut note = |lacks: String, without: &str, write: &str| {
        found.push(Missing { lacks, write: write.into(), without: without.into() });
    };
    let signal = |quantity: Quantity| format!("no signal {}", quantity.name());
    if burns && !has(Quantity::GasFlow) {
        let without = "no gas, energy, kWh/t, cost, CO2 or baseline; production, steam and moisture are given";
        note(signal(Quantity::GasFlow), without, "gas_flow = { topic = \"…\", unit = \"m3/h\" } in [line.signals]");
    } else if burns && settings.gas.is_none() {
        let without =
            "gas stays in m3: no energy, kWh/t, cost, CO2 or baseline; production, steam and moisture are given";
        let write = "gas_kwh_per_m3 and gas_basis = \"gross\" or \"net\" in [energy], from the gas bill";
        note("no calorific value of the gas".into(), without, write);
    }
    if !has(Quantity::ElectricPower) {
        let (without, write) = match firing {
            Firing::Electric => (
                "no energy, kWh/t, cost, CO2 or baseline; production, steam and moisture are given",
                "electric_power = { topic = \"…\", unit = \"kW\" } in [line.signals]",
            ),
            _ => (
                "the account is heat only, without fans and drives",
                "electric_power = { topic = \"…\", unit = \"kW\" } in [line.signals]",
            ),
        };
        note(signal(Quantity::ElectricPower), without, write);
    }
    if !has(Quantity::SteamFlow) {
        let without = "steam is no part of the account and over-steaming is not priced";
        note(signal(Quantity::SteamFlow), without, "steam_flow = { topic = \"…\", unit = \"kg/h\" } in [line.signals]");
    } else if plant.lines[line.0].steam_section.is_none() {
        let without = "only steam without product is priced as over-steaming";
        note("no length of the steam section".into(), without, "steam_section_m in [[line]]");
    }
    for product in &plant.products {
        if product.dough_kg_per_m.is_none() {
            let without = "no dough, water or kWh/t while it is baked";
            note(format!("no dough on the band of {}", product.code), without, "dough_kg_per_m in its [[product]]");
        } else if product.bake_loss_pct.is_none() {
            let without = "no water evaporated, and no good product without a counter, while it is baked";
            note(format!("no bake loss of {}", product.code), without, "bake_loss_pct in its [[product]]");
        }
    }
    if !has(Quantity::GoodMass) {
        let without = "good product is dough less bake loss: rejects count as good";
        note(
            signal(Quantity::GoodMass),
            without,
            "good_mass = { topic = \"…\", unit = \"kg\" } in [line.signals], a counter",
        );
    }
    if !has(Quantity::AmbientTemperature) {
        let without = "the baseline is not corrected for the weather";
        let write = "ambient_temperature = { topic = \"…\", unit = \"degC\" } in [line.signals]";
        note(signal(Quantity::AmbientTemperature), without, write);
    }
    if settings.prices.gas_per_kwh.is_none() && burns {
        note("no price of gas".into(), "no cost", "gas_per_kwh in [costs]");
    }
    if settings.carbon.gas.is_none() && burns {
        let write = "gas_co2_kg_per_kwh (of gross kWh) and gas_co2_source in [energy]";
        note("no CO2 factor of gas".into(), "no CO2", write);
    }
    found
}

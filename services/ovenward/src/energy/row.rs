//! A row of the energy table, and what its columns mean.

use balance::energy::{EnergyRecord, EnergySettings, GoodMass};
use reading::Timestamp;

use crate::table::Column;

/// One energy record with what it is held against.
#[derive(Debug, Clone)]
pub(crate) struct EnergyRow {
    pub(crate) site: String,
    pub(crate) line: String,
    pub(crate) by: &'static str,
    pub(crate) period: String,
    pub(crate) products: String,
    pub(crate) starts: Timestamp,
    pub(crate) ends: Timestamp,
    pub(crate) record: EnergyRecord,
    pub(crate) currency: Option<String>,
    pub(crate) over_steaming_cost: Option<f64>,
    pub(crate) excess_moisture_cost: Option<f64>,
    pub(crate) expected_kwh: Option<f64>,
    pub(crate) saving_kwh: Option<f64>,
    pub(crate) cusum_kwh: Option<f64>,
}

impl EnergyRow {
    /// Prices what the record has too much of.
    pub(crate) fn price(&mut self, settings: &EnergySettings) {
        self.over_steaming_cost = EnergyRecord::cost_of(self.record.over_steaming, settings);
        self.excess_moisture_cost =
            EnergyRecord::cost_of(self.record.excess_moisture.map(|excess| excess.waste), settings);
    }
}

/// The columns of the table, in their order: the same in CSV, JSON, Parquet and on MQTT.
pub(crate) const COLUMNS: &[Column<EnergyRow>] = &[
    Column::text("site", "The site's id.", |row| Some(row.site.clone())),
    Column::text("line", "The line's id.", |row| Some(row.line.clone())),
    Column::text("by", "What the record is of: shift, day, month or product.", |row| Some(row.by.into())),
    Column::text(
        "period",
        "Which: date and shift, date, month, or product code. A shift counts to the day and month on which it began.",
        |row| Some(row.period.clone()),
    ),
    Column::text("products", "Codes of the products that were in the oven, with + between them.", |row| {
        Some(row.products.clone())
    }),
    Column::time("starts", "First moment of the period.", |row| Some(row.starts)),
    Column::time("ends", "First moment after it.", |row| Some(row.ends)),
    Column::number("baking_h", "h", "Time with the oven full of one product.", |row| Some(row.record.baking_h)),
    Column::number("idle_h", "h", "Time in which no dough entered: gaps, changeovers, heating, standstill.", |row| {
        Some(row.record.idle_h)
    }),
    Column::number("dough_kg", "kg", "Dough that entered: band speed times dough_kg_per_m.", |row| row.record.dough_kg),
    Column::number("good_kg", "kg", "Good product.", |row| row.record.good_kg),
    Column::text(
        "good_mass",
        "Where good_kg comes from: counted (signal good_mass) or baked (dough less bake loss: rejects count as good).",
        |row| row.record.good_mass.map(|good| good_mass(good).into()),
    ),
    Column::number("evaporated_kg", "kg", "Water that the dough lost in the oven, by bake_loss_pct.", |row| {
        row.record.evaporated_kg
    }),
    Column::number("gas_m3", "m3", "Gas of the oven at the conditions of its meter.", |row| row.record.gas_m3),
    Column::number("gas_kwh_gross", "kWh", "The same on the gross (higher) calorific value.", |row| {
        row.record.gas_kwh_gross
    }),
    Column::number("gas_kwh_net", "kWh", "The same on the net (lower) calorific value.", |row| row.record.gas_kwh_net),
    Column::number("electricity_kwh", "kWh", "Electricity, where the line has the signal electric_power.", |row| {
        row.record.electricity_kwh
    }),
    Column::number("steam_kg", "kg", "Steam injected.", |row| row.record.steam_kg),
    Column::number("steam_kwh", "kWh", "Fuel of the boiler for that steam, gross.", |row| row.record.steam_kwh),
    Column::number("energy_kwh", "kWh", "gas_kwh_gross + electricity_kwh + steam_kwh, of what is metered.", |row| {
        row.record.energy_kwh
    }),
    Column::number("idle_kwh", "kWh", "The part of energy_kwh while no dough entered.", |row| row.record.idle_kwh),
    Column::number(
        "kwh_per_t",
        "kWh/t",
        "Energy performance indicator (EnPI): energy_kwh per tonne of good product. It falls when product leaves wetter, so read it beside zone3_moisture_pct.",
        |row| row.record.kwh_per_t,
    ),
    Column::count("peak_zone", "The wettest zone while baking, counted from 1.", |row| {
        row.record.peak().map(|(zone, _)| zone as i64)
    }),
    Column::number("peak_moisture_pct", "% vol", "Its mean moisture.", |row| {
        row.record.peak().map(|(_, moisture)| moisture)
    }),
    Column::number(
        "zone3_moisture_pct",
        "% vol",
        "Mean moisture of zone 3 while baking; of the last zone in an oven with fewer.",
        |row| row.record.late_moisture_pct(),
    ),
    Column::number("band_speed_m_min", "m/min", "Mean band speed while baking.", |row| row.record.band_speed_m_min),
    Column::number("ambient_c", "degC", "Mean temperature of the air outside the oven.", |row| row.record.ambient_c),
    Column::text("currency", "ISO 4217 code of the costs.", |row| row.currency.clone()),
    Column::number("cost", "currency", "Cost of gas, electricity and steam (as gas) by [costs].", |row| {
        row.record.cost
    }),
    Column::number(
        "co2_kg",
        "kg",
        "Carbon dioxide by the factors of [energy]; their source and basis are named there.",
        |row| row.record.co2_kg,
    ),
    Column::number(
        "over_steaming_kg",
        "kg",
        "Steam that product was under for longer than useful_steam_s, and all steam without product.",
        |row| row.record.over_steaming.map(|waste| waste.kg),
    ),
    Column::number(
        "over_steaming_kwh",
        "kWh",
        "Its fuel in the boiler and the heat of the oven that carries it out again; an estimate.",
        |row| row.record.over_steaming.map(|waste| waste.kwh),
    ),
    Column::number("over_steaming_cost", "currency", "The same at the price of gas.", |row| row.over_steaming_cost),
    Column::number(
        "excess_moisture_kg",
        "kg",
        "Water that left zone 3 and later above the approved normal at the same band speed: by the learned water balance, or without one as if all zones drew alike.",
        |row| row.record.excess_moisture.map(|excess| excess.waste.kg),
    ),
    Column::count(
        "excess_moisture_zone",
        "The zone whose exhaust carried the most of it, counted from 1; empty without a learned water balance.",
        |row| row.record.excess_moisture?.most_by_zone.map(|zone| zone as i64),
    ),
    Column::number("excess_moisture_kwh", "kWh", "The heat of its vapour.", |row| {
        row.record.excess_moisture.map(|excess| excess.waste.kwh)
    }),
    Column::number("excess_moisture_cost", "currency", "The same at the price of gas.", |row| row.excess_moisture_cost),
    Column::number(
        "coverage_pct",
        "%",
        "Lowest share of the time for which a meter or the production is known. Nothing is filled in.",
        |row| Some(row.record.coverage_pct),
    ),
    Column::number(
        "expected_kwh",
        "kWh",
        "What the energy baseline (EnB) expects at the same relevant variables.",
        |row| row.expected_kwh,
    ),
    Column::number(
        "saving_kwh",
        "kWh",
        "Normalised saving: expected_kwh less energy_kwh. Positive is less than before.",
        |row| row.saving_kwh,
    ),
    Column::number(
        "cusum_kwh",
        "kWh",
        "Cumulative sum of saving_kwh from the first record of the line in this table on.",
        |row| row.cusum_kwh,
    ),
];

fn good_mass(good: GoodMass) -> &'static str {
    match good {
        GoodMass::Counted => "counted",
        GoodMass::Baked => "baked",
    }
}

//! The energy account of a line: its records, its baseline and what that says.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::EnergyBy;

/// The energy account of a line over a period.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "line": "tunnel-1", "by": "shift",
    "records": [{
        "site": "millbrook", "line": "tunnel-1", "by": "shift", "period": "2026-10-05 early", "products": "T800",
        "starts": "2026-10-05T05:00:00Z", "ends": "2026-10-05T13:00:00Z", "baking_h": 7.1, "idle_h": 0.9, "dough_kg": 9620.0,
        "good_kg": 8610.0, "good_mass": "baked", "evaporated_kg": 1010.0, "gas_m3": 221.0, "gas_kwh_gross": 2453.0,
        "gas_kwh_net": 2213.0, "electricity_kwh": null, "steam_kg": 840.0, "steam_kwh": 647.0, "energy_kwh": 3100.0,
        "idle_kwh": 190.0, "kwh_per_t": 360.0, "peak_zone": 1, "peak_moisture_pct": 38.1, "zone3_moisture_pct": 4.8,
        "band_speed_m_min": 1.17, "ambient_c": 24.0, "currency": "GBP", "cost": 139.5, "co2_kg": 567.3, "over_steaming_kg": 510.0,
        "over_steaming_kwh": 420.0, "over_steaming_cost": 18.9, "excess_moisture_kg": 11.0, "excess_moisture_zone": 3, "excess_moisture_kwh": 9.0,
        "excess_moisture_cost": 0.41, "coverage_pct": 99.8, "expected_kwh": 3320.0, "saving_kwh": 220.0, "cusum_kwh": 1410.0
    }],
    "whole": {
        "site": "millbrook", "line": "tunnel-1", "by": "whole", "period": "2026-10-05 early to 2026-10-05 early",
        "products": "T800", "starts": "2026-10-05T05:00:00Z", "ends": "2026-10-05T13:00:00Z", "baking_h": 7.1, "idle_h": 0.9,
        "dough_kg": 9620.0, "good_kg": 8610.0, "good_mass": "baked", "evaporated_kg": 1010.0, "gas_m3": 221.0,
        "gas_kwh_gross": 2453.0, "gas_kwh_net": 2213.0, "electricity_kwh": null, "steam_kg": 840.0, "steam_kwh": 647.0,
        "energy_kwh": 3100.0, "idle_kwh": 190.0, "kwh_per_t": 360.0, "peak_zone": 1, "peak_moisture_pct": 38.1,
        "zone3_moisture_pct": 4.8, "band_speed_m_min": 1.17, "ambient_c": 24.0, "currency": "GBP", "cost": 139.5, "co2_kg": 567.3,
        "over_steaming_kg": 510.0, "over_steaming_kwh": 420.0, "over_steaming_cost": 18.9, "excess_moisture_kg": 11.0, "excess_moisture_zone": 3,
        "excess_moisture_kwh": 9.0, "excess_moisture_cost": 0.41, "coverage_pct": 99.8, "expected_kwh": null, "saving_kwh": null,
        "cusum_kwh": null
    },
    "baseline": {
        "from": "2026-06-01", "to": "2026-09-01", "refused": null, "constant_kwh": 1490.0,
        "variables": [{ "name": "T800", "unit": "t", "kwh_per_unit": 212.0, "error_kwh_per_unit": 9.5 }], "left_out": ["idle time"],
        "records": 262, "r2": 0.83, "cv_rmse_pct": 4.1, "nmbe_pct": 0.7
    },
    "saving": {
        "kwh": 1410.0, "uncertainty_kwh": 390.0, "share_pct": 6.2, "is_certain": true, "expected_kwh": 22740.0,
        "actual_kwh": 21330.0, "shifts": 7, "not_compared": 1,
        "turn": { "date": "2026-10-03", "shift": "late", "before_kwh": 12.0, "after_kwh": 231.0 },
        "beyond": [{ "variable": "T800", "shifts": 1 }]
    },
    "missing": [{
        "lacks": "no signal electric_power", "without": "the account is heat only, without fans and drives",
        "write": "electric_power = { topic = \"…\", unit = \"kW\" } in [line.signals]"
    }],
    "factors": {
        "currency": "GBP", "gas_kwh_per_m3": 11.1, "gas_basis": "gross", "gas_per_kwh": 0.045, "electricity_per_kwh": 0.19,
        "gas_co2_kg_per_kwh": 0.183, "gas_co2_source": "supplier's statement of 2026, gross", "electricity_co2_kg_per_kwh": null,
        "electricity_co2_source": null, "boiler_efficiency_pct": 85.0, "useful_steam_s": 10.0
    },
    "caution": "Advisory only: exhaust, burner and steam settings belong to the oven maker's limits, local codes and the plant's licensed people."
}))]
pub struct EnergyAccount {
    /// Id of the line.
    pub line: String,
    /// By what the records are grouped.
    pub by: EnergyBy,
    /// The records, in order of time; by code of the product where they are grouped so.
    pub records: Vec<EnergyRecord>,
    /// All of the period together.
    pub whole: EnergyRecord,
    /// The energy baseline (EnB); null where no period is named.
    pub baseline: Option<EnergyBaseline>,
    /// The normalised saving against it; null without a baseline that stands.
    pub saving: Option<EnergySaving>,
    /// What the records lack, the gravest first.
    pub missing: Vec<MissingForEnergy>,
    /// What they were computed with.
    pub factors: EnergyFactors,
    /// What goes with it.
    pub caution: String,
}

/// One energy record. `/api/v1/energy/columns` says what each of its figures means, with its unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EnergyRecord {
    /// Id of the site.
    pub site: String,
    /// Id of the line.
    pub line: String,
    /// What it is of: `shift`, `day`, `month`, `product` or `whole`.
    pub by: String,
    /// Which: date and shift, date, month, or code of the product.
    pub period: String,
    /// Codes of the products that were in the oven, with + between them.
    pub products: String,
    /// First moment of the period.
    pub starts: String,
    /// First moment after it.
    pub ends: String,
    /// Time with the oven full of one product, h.
    pub baking_h: f64,
    /// Time in which no dough entered, h.
    pub idle_h: f64,
    /// Dough that entered, kg.
    pub dough_kg: Option<f64>,
    /// Good product, kg.
    pub good_kg: Option<f64>,
    /// Where it comes from: `counted` or `baked`.
    pub good_mass: Option<String>,
    /// Water that the dough lost in the oven, kg.
    pub evaporated_kg: Option<f64>,
    /// Gas at the conditions of its meter, m³.
    pub gas_m3: Option<f64>,
    /// The same on the gross calorific value, kWh.
    pub gas_kwh_gross: Option<f64>,
    /// The same on the net calorific value, kWh.
    pub gas_kwh_net: Option<f64>,
    /// Electricity, kWh.
    pub electricity_kwh: Option<f64>,
    /// Steam injected, kg.
    pub steam_kg: Option<f64>,
    /// Fuel of the boiler for it, kWh gross.
    pub steam_kwh: Option<f64>,
    /// All of what is metered, kWh gross.
    pub energy_kwh: Option<f64>,
    /// The part of it while no dough entered, kWh.
    pub idle_kwh: Option<f64>,
    /// Energy performance indicator (EnPI): energy for a tonne of good product, kWh/t. It also falls when product
    /// leaves wetter: never show it without `zone3_moisture_pct`.
    pub kwh_per_t: Option<f64>,
    /// The wettest zone while baking, from 1.
    pub peak_zone: Option<i64>,
    /// Its mean moisture, % vol.
    pub peak_moisture_pct: Option<f64>,
    /// Mean moisture of zone 3 while baking, % vol; of the last zone in an oven with fewer.
    pub zone3_moisture_pct: Option<f64>,
    /// Mean band speed while baking, m/min.
    pub band_speed_m_min: Option<f64>,
    /// Mean temperature of the air outside the oven, °C.
    pub ambient_c: Option<f64>,
    /// ISO 4217 code of the costs.
    pub currency: Option<String>,
    /// Cost of gas, electricity and steam.
    pub cost: Option<f64>,
    /// Carbon dioxide by the factors, kg.
    pub co2_kg: Option<f64>,
    /// Steam that was of no more use, kg.
    pub over_steaming_kg: Option<f64>,
    /// What it took, kWh; an estimate.
    pub over_steaming_kwh: Option<f64>,
    /// The same at the price of gas.
    pub over_steaming_cost: Option<f64>,
    /// Water that left zone 3 and later above the normal, kg; an estimate.
    pub excess_moisture_kg: Option<f64>,
    /// The zone whose exhaust carried the most of it, from 1; null without a learned water balance.
    pub excess_moisture_zone: Option<usize>,
    /// What it took, kWh.
    pub excess_moisture_kwh: Option<f64>,
    /// The same at the price of gas.
    pub excess_moisture_cost: Option<f64>,
    /// Lowest share of the time for which a meter or the production is known, %.
    pub coverage_pct: f64,
    /// What the baseline expects at the same relevant variables, kWh.
    pub expected_kwh: Option<f64>,
    /// That less `energy_kwh`: positive is less than before.
    pub saving_kwh: Option<f64>,
    /// Cumulative sum (CUSUM) of `saving_kwh` from the first record on.
    pub cusum_kwh: Option<f64>,
}

/// The energy baseline (EnB): energy of a shift as it was, as a function of the relevant variables. Where it is refused,
/// its figures are null.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EnergyBaseline {
    /// First local date of its period.
    pub from: String,
    /// The local date before which it ends.
    pub to: String,
    /// Why the records of the period give none.
    pub refused: Option<String>,
    /// Energy of a shift without any of the variables, kWh.
    pub constant_kwh: Option<f64>,
    /// The variables that count.
    pub variables: Vec<EnergyVariable>,
    /// The variables that were offered and are not significant.
    pub left_out: Vec<String>,
    /// How many shifts it rests on.
    pub records: Option<usize>,
    /// Share of the variation that is explained, 0 to 1.
    pub r2: Option<f64>,
    /// CV(RMSE), %.
    pub cv_rmse_pct: Option<f64>,
    /// NMBE of the last third, foreseen from the first two, %: positive if less was used than foreseen.
    pub nmbe_pct: Option<f64>,
}

/// A relevant variable of a baseline.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EnergyVariable {
    /// What it is: a product, `production`, `idle time` or `ambient temperature`.
    pub name: String,
    /// Its unit.
    pub unit: String,
    /// Energy for one of it, kWh.
    pub kwh_per_unit: f64,
    /// Standard error of that, kWh.
    pub error_kwh_per_unit: f64,
}

/// The normalised saving of the shifts asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EnergySaving {
    /// Expected less actual, kWh; positive is less than before.
    pub kwh: f64,
    /// Half-width of its 95 % interval, kWh.
    pub uncertainty_kwh: f64,
    /// As a share of what was expected, %.
    pub share_pct: Option<f64>,
    /// Whether it stands out of its uncertainty.
    pub is_certain: bool,
    /// What the shifts would have taken by the baseline, kWh.
    pub expected_kwh: f64,
    /// What they took, kWh.
    pub actual_kwh: f64,
    /// How many shifts were compared.
    pub shifts: usize,
    /// How many could not be: incomplete, or of a kind that the baseline has not seen.
    pub not_compared: usize,
    /// Where the CUSUM turned; null if nowhere that stands out.
    pub turn: Option<EnergyTurn>,
    /// The variables that lie beyond what the baseline has seen: there it is extrapolated.
    pub beyond: Vec<EnergyBeyond>,
}

/// Where a saving began or ended.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EnergyTurn {
    /// Local date on which the first shift after it began.
    pub date: String,
    /// Name of that shift.
    pub shift: String,
    /// Mean saving of a shift before, kWh.
    pub before_kwh: f64,
    /// Mean saving of a shift from then on, kWh.
    pub after_kwh: f64,
}

/// A variable beyond the range of its baseline.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct EnergyBeyond {
    /// Which.
    pub variable: String,
    /// In how many shifts.
    pub shifts: usize,
}

/// Something that the records of a line lack.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct MissingForEnergy {
    /// A signal or a setting.
    pub lacks: String,
    /// What cannot be computed, and what can all the same.
    pub without: String,
    /// What to write, and where.
    pub write: String,
}

/// What energy records are computed with; null where the config does not say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct EnergyFactors {
    /// ISO 4217 code of the prices.
    pub currency: Option<String>,
    /// Calorific value of the gas, kWh/m³.
    pub gas_kwh_per_m3: Option<f64>,
    /// On which basis that is: `gross` or `net`.
    pub gas_basis: Option<String>,
    /// Price of gas, per gross kWh.
    pub gas_per_kwh: Option<f64>,
    /// Price of electricity, per kWh.
    pub electricity_per_kwh: Option<f64>,
    /// Carbon dioxide of gas, kg per gross kWh.
    pub gas_co2_kg_per_kwh: Option<f64>,
    /// Who says so.
    pub gas_co2_source: Option<String>,
    /// Carbon dioxide of electricity, kg per kWh.
    pub electricity_co2_kg_per_kwh: Option<f64>,
    /// Who says so.
    pub electricity_co2_source: Option<String>,
    /// Heat in the steam over the heat in the boiler's fuel, % of gross.
    pub boiler_efficiency_pct: f64,
    /// Product under steam for longer has no more use of it, s.
    pub useful_steam_s: f64,
}

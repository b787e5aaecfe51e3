//! Energy and what it costs. A price that nobody configured is left out and said, never invented.

use physics::combustion::{Fuel, HeatBasis};
use serde::Serialize;

/// What stands where a price is missing.
pub const NOT_CONFIGURED: &str = "not configured";
/// Fuel for a kg of steam, kWh net: (2693 - 335) kJ/kg from feed water of 80 °C to steam at 1.5 bar (IF97), boiler of
/// 85 % (common practice).
const BOILER_KWH_PER_KG: f64 = (2_693.0 - 335.0) / 3600.0 / 0.85;

/// What energy, output and capital are worth, in one currency.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Prices {
    /// ISO 4217 code.
    pub currency: Option<String>,
    /// Gas, per kWh of gross calorific value.
    pub gas_per_kwh: Option<f64>,
    /// Electricity, per kWh.
    pub electricity_per_kwh: Option<f64>,
    /// What a tonne of good product earns.
    pub margin_per_tonne: Option<f64>,
    /// Hours a year in which the product is baked at the speed asked for.
    pub hours_per_year: Option<f64>,
    /// A metre of further zone, built in.
    pub zone_per_m: Option<f64>,
    /// Years over which that is written off.
    pub capital_years: Option<f64>,
    /// Whether the oven itself burns gas, or is heated by electricity.
    pub electric_oven: bool,
    /// Share of the burnt heat that reaches the oven: 1 where it burns in the zones.
    pub burner_efficiency: f64,
}

impl Prices {
    /// What is missing, and what it would show.
    pub(super) fn missing(&self) -> Vec<String> {
        let of_energy = if self.electric_oven { self.electricity_per_kwh } else { self.gas_per_kwh };
        let energy = if self.electric_oven { "electricity_per_kwh" } else { "gas_per_kwh" };
        [
            (of_energy, energy, "what energy costs"),
            (self.margin_per_tonne, "margin_per_tonne", "what output is worth"),
            (self.hours_per_year, "hours_per_year", "the net gain of a year"),
            (self.zone_per_m, "zone_per_m", "what a further zone costs"),
            (self.capital_years, "capital_years", "what a further zone costs a year"),
        ]
        .iter()
        .filter(|(value, ..)| value.is_none())
        .map(|(_, key, shows)| format!("[costs] {key} is {NOT_CONFIGURED}: without it {shows} is not shown"))
        .collect()
    }
}

/// What a way of running takes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Energy {
    /// Heat that the zones need, kW.
    pub heat_kw: f64,
    /// Energy bought for oven and steam, kWh an hour; gas by its gross calorific value.
    pub bought_kwh_h: f64,
    /// The same for a tonne of good product, kWh/t.
    pub bought_kwh_t: f64,
    /// Good product, t/h.
    pub good_t_h: f64,
    /// What the energy costs an hour.
    pub cost_per_h: Option<f64>,
    /// What the output earns an hour, before energy.
    pub margin_per_h: Option<f64>,
}

impl Energy {
    pub(super) fn of(heat_kw: f64, steam_kg_h: f64, good_t_h: f64, prices: &Prices) -> Self {
        let methane = Fuel::methane();
        let gross = methane.heat(HeatBasis::Gross).0 / methane.heat(HeatBasis::Net).0;
        let boiler = gross * steam_kg_h * BOILER_KWH_PER_KG;
        let (oven, per_kwh) = match prices.electric_oven {
            true => (heat_kw, prices.electricity_per_kwh),
            false => (gross * heat_kw / prices.burner_efficiency, prices.gas_per_kwh),
        };
        let cost = |kwh: f64, price: Option<f64>| if kwh == 0.0 { Some(0.0) } else { price.map(|price| kwh * price) };
        Self {
            heat_kw,
            bought_kwh_h: oven + boiler,
            bought_kwh_t: (oven + boiler) / good_t_h,
            good_t_h,
            cost_per_h: cost(oven, per_kwh).zip(cost(boiler, prices.gas_per_kwh)).map(|(oven, boiler)| oven + boiler),
            margin_per_h: prices.margin_per_tonne.map(|margin| margin * good_t_h),
        }
    }

    /// What an hour earns after energy.
    pub(super) fn earned_per_h(&self) -> Option<f64> {
        self.margin_per_h.zip(self.cost_per_h).map(|(margin, cost)| margin - cost)
    }
}

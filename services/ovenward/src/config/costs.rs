//! `[costs]`: what energy costs and what a tonne earns, to weigh remedies in money.

use super::key::{Key, Number};
use super::section::Section;

const CURRENCY: Key = Key::required("currency", "\"GBP\"");
const GAS: Number = Number::optional("gas_per_kwh", "0.045").within(0.0, 1e6, "per kWh, gross calorific value");
const ELECTRICITY: Number = Number::optional("electricity_per_kwh", "0.19").within(0.0, 1e6, "per kWh");
const MARGIN: Number = Number::optional("margin_per_tonne", "140.0").within(0.0, 1e9, "per tonne of good product");
const HOURS: Number = Number::optional("hours_per_year", "1200").within(1.0, 8784.0, "h a year");
const ZONE: Number = Number::optional("zone_per_m", "30000").within(0.0, 1e9, "per metre of further zone, built in");
const YEARS: Number = Number::optional("capital_years", "10").within(1.0, 50.0, "years");

/// What energy costs and what a tonne earns.
#[derive(Debug, Clone, PartialEq)]
pub struct Costs {
    /// ISO 4217 code, for display.
    pub currency: String,
    /// Gas, per kWh of gross calorific value, as it is billed.
    pub gas_per_kwh: Option<f64>,
    /// Electricity, per kWh.
    pub electricity_per_kwh: Option<f64>,
    /// What one more tonne of good product earns.
    pub margin_per_tonne: Option<f64>,
    /// Hours a year in which a product is baked at a speed that is asked about.
    pub hours_per_year: Option<f64>,
    /// A metre of further zone, built in.
    pub zone_per_m: Option<f64>,
    /// Years over which what is built is written off.
    pub capital_years: Option<f64>,
}

pub(super) fn read(section: &Section<'_>) -> Option<Costs> {
    if !section.is_present() {
        return None;
    }
    let currency = section.text(&CURRENCY);
    let gas_per_kwh = section.number(&GAS);
    let electricity_per_kwh = section.number(&ELECTRICITY);
    let margin_per_tonne = section.number(&MARGIN);
    let hours_per_year = section.number(&HOURS);
    let zone_per_m = section.number(&ZONE);
    let capital_years = section.number(&YEARS);
    section.finish();
    let currency = currency?;
    if currency.get_ref().len() != 3 || !currency.get_ref().chars().all(|c| c.is_ascii_uppercase()) {
        let message = format!("currency {:?} is not a code of ISO 4217", currency.get_ref());
        section.faults().add(currency.span().start, message, CURRENCY.advice());
    }
    Some(Costs {
        currency: currency.into_inner(),
        gas_per_kwh,
        electricity_per_kwh,
        margin_per_tonne,
        hours_per_year,
        zone_per_m,
        capital_years,
    })
}

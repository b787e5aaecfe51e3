//! From cubic metres of gas to kWh, on either calorific value.

use physics::combustion::{Fuel, HeatBasis};

/// Heat of a cubic metre of gas as the meter counts it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CalorificValue {
    /// kWh per m³ at the meter's conditions, as the supplier states it.
    pub kwh_per_m3: f64,
    /// Which calorific value that is.
    pub basis: HeatBasis,
}

impl CalorificValue {
    /// Heat of this much gas on the gross (higher) calorific value, kWh: the basis of bills.
    #[must_use]
    pub fn gross_kwh(&self, gas_m3: f64) -> f64 {
        gas_m3 * self.kwh_per_m3 * if self.basis == HeatBasis::Net { gross_over_net() } else { 1.0 }
    }

    /// Heat of this much gas on the net (lower) calorific value, kWh.
    #[must_use]
    pub fn net_kwh(&self, gas_m3: f64) -> f64 {
        self.gross_kwh(gas_m3) / gross_over_net()
    }
}

/// Gross over net calorific value: methane's (ISO 6976), which natural gas is within 0.5 % of (common practice).
fn gross_over_net() -> f64 {
    let methane = Fuel::methane();
    methane.heat(HeatBasis::Gross).0 / methane.heat(HeatBasis::Net).0
}

/// Water that burning this much gas leaves in a directly fired oven, kg.
pub(crate) fn combustion_water_kg(gas_kwh_net: f64) -> f64 {
    Fuel::methane().water(HeatBasis::Net).0 * gas_kwh_net
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_gas_holds_a_tenth_more_gross_than_net() {
        let net = CalorificValue { kwh_per_m3: 9.97, basis: HeatBasis::Net };
        // Methane: 39.82 MJ/m3 gross and 35.88 net at 0 degC (ISO 6976, from memory): 1.1098.
        assert!((net.gross_kwh(100.0) / 997.0 - 1.1098).abs() < 2e-3, "{}", net.gross_kwh(100.0));
        assert!((net.net_kwh(100.0) - 997.0).abs() < 1e-9);
        let gross = CalorificValue { kwh_per_m3: 11.06, basis: HeatBasis::Gross };
        assert!((gross.gross_kwh(100.0) - 1106.0).abs() < 1e-9);
        assert!(gross.net_kwh(100.0) < 1106.0 / 1.1);
    }
}

//! What energy costs, and the carbon dioxide that goes with it.

/// What energy costs, each in the plant's currency.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Prices {
    /// Gas, per kWh of gross calorific value, as it is billed.
    pub gas_per_kwh: Option<f64>,
    /// Electricity, per kWh.
    pub electricity_per_kwh: Option<f64>,
}

/// Carbon dioxide of a kWh, and who says so: a figure without its source and basis stands up in no audit.
#[derive(Debug, Clone, PartialEq)]
pub struct CarbonFactor {
    /// kg CO2 (or CO2 equivalent, as the source says) per kWh; of gas per kWh of gross calorific value.
    pub kg_per_kwh: f64,
    /// Where the figure comes from, its year and basis, as the config names it.
    pub source: String,
}

/// The factors of what a line uses.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Carbon {
    /// Of gas, burnt in the oven and in the boiler.
    pub gas: Option<CarbonFactor>,
    /// Of electricity.
    pub electricity: Option<CarbonFactor>,
}

/// An amount of each kind of energy, kWh; `None` for what is used and not known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Used {
    /// Gas of the oven and of the boiler, gross; `Some(0)` where none is used.
    pub(crate) gas: Option<f64>,
    /// Electricity; `Some(0)` where it is no part of the account.
    pub(crate) electricity: Option<f64>,
}

impl Prices {
    /// What it costs; `None` if a part is used whose amount or price is not known.
    pub(crate) fn cost(&self, used: Used) -> Option<f64> {
        Some(part(used.gas, self.gas_per_kwh)? + part(used.electricity, self.electricity_per_kwh)?)
    }
}

impl Carbon {
    /// Its carbon dioxide, kg; `None` if a part is used whose amount or factor is not known.
    pub(crate) fn kg(&self, used: Used) -> Option<f64> {
        let factor = |of: &Option<CarbonFactor>| of.as_ref().map(|factor| factor.kg_per_kwh);
        Some(part(used.gas, factor(&self.gas))? + part(used.electricity, factor(&self.electricity))?)
    }
}

fn part(amount: Option<f64>, each: Option<f64>) -> Option<f64> {
    match amount? {
        0.0 => Some(0.0),
        amount => Some(amount * each?),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_used_needs_no_price_and_what_is_used_does() {
        let prices = Prices { gas_per_kwh: Some(0.045), electricity_per_kwh: None };
        assert_eq!(prices.cost(Used { gas: Some(1000.0), electricity: Some(0.0) }), Some(45.0));
        assert_eq!(prices.cost(Used { gas: Some(1000.0), electricity: Some(1.0) }), None);
        assert_eq!(prices.cost(Used { gas: None, electricity: Some(0.0) }), None);
        let factor = CarbonFactor { kg_per_kwh: 0.18, source: "invented".into() };
        let carbon = Carbon { gas: Some(factor), electricity: None };
        assert_eq!(carbon.kg(Used { gas: Some(1000.0), electricity: Some(0.0) }), Some(180.0));
    }
}

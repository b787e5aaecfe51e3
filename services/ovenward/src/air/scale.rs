//! From SI to the units a person asked for.

use clap::ValueEnum;

/// Units of what is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Units {
    /// degC, kPa, kg, m3, kJ.
    Metric,
    /// degF, psi, lb, ft3, Btu.
    Us,
}

/// Kinds of quantity, each with one unit in either system.
#[derive(Debug, Clone, Copy)]
pub(super) enum Kind {
    /// °C.
    Temperature,
    /// K.
    Difference,
    /// A share of 1.
    Share,
    /// kg/kg.
    Ratio,
    /// Pa.
    Pressure,
    /// J/kg.
    Heat,
    /// J per kg of dry air, over dry air of 0 °C and liquid water.
    Enthalpy,
    /// kg/m³.
    Density,
    /// m³/kg.
    Volume,
}

/// How a value in SI is written.
pub(super) struct Scale {
    /// Ends the quantity's key in JSON.
    pub(super) suffix: &'static str,
    pub(super) unit: &'static str,
    pub(super) decimals: usize,
    factor: f64,
    offset: f64,
}

impl Scale {
    pub(super) fn apply(&self, value: f64) -> f64 {
        value * self.factor + self.offset
    }
}

const POUND: f64 = 0.453_592_37;
const CUBIC_FOOT: f64 = 0.028_316_846_592;
const PSI: f64 = 6_894.757_293_168;
/// Of the International Table.
const BTU: f64 = 1_055.055_852_62;
/// US tables count dry air from 0 degF, where it has this much less than at 0 degC, J/kg.
const US_DATUM: f64 = 17_877.406_9;

impl Units {
    /// The unit of mass.
    pub(super) fn mass(self) -> &'static str {
        match self {
            Self::Metric => "kg",
            Self::Us => "lb",
        }
    }

    pub(super) fn scale(self, kind: Kind) -> Scale {
        let (suffix, unit, decimals, factor, offset) = match (self, kind) {
            (Self::Metric, Kind::Temperature) => ("c", "degC", 2, 1.0, 0.0),
            (Self::Metric, Kind::Difference) => ("k", "K", 2, 1.0, 0.0),
            (Self::Metric, Kind::Ratio) => ("kg_per_kg", "kg/kg", 4, 1.0, 0.0),
            (Self::Metric, Kind::Pressure) => ("kpa", "kPa", 3, 1e-3, 0.0),
            (Self::Metric, Kind::Heat) => ("kj_per_kg", "kJ/kg", 1, 1e-3, 0.0),
            (Self::Metric, Kind::Enthalpy) => ("kj_per_kg", "kJ/kg of dry air, over 0 degC", 1, 1e-3, 0.0),
            (Self::Metric, Kind::Density) => ("kg_per_m3", "kg/m3", 4, 1.0, 0.0),
            (Self::Metric, Kind::Volume) => ("m3_per_kg", "m3/kg", 4, 1.0, 0.0),
            (_, Kind::Share) => ("pct", "%", 2, 100.0, 0.0),
            (Self::Us, Kind::Temperature) => ("f", "degF", 2, 1.8, 32.0),
            (Self::Us, Kind::Difference) => ("f_difference", "degF", 2, 1.8, 0.0),
            (Self::Us, Kind::Ratio) => ("lb_per_lb", "lb/lb", 4, 1.0, 0.0),
            (Self::Us, Kind::Pressure) => ("psi", "psi", 4, 1.0 / PSI, 0.0),
            (Self::Us, Kind::Heat) => ("btu_per_lb", "Btu/lb", 1, POUND / BTU, 0.0),
            (Self::Us, Kind::Enthalpy) => {
                ("btu_per_lb", "Btu/lb of dry air, over 0 degF", 1, POUND / BTU, US_DATUM * POUND / BTU)
            }
            (Self::Us, Kind::Density) => ("lb_per_ft3", "lb/ft3", 5, CUBIC_FOOT / POUND, 0.0),
            (Self::Us, Kind::Volume) => ("ft3_per_lb", "ft3/lb", 3, POUND / CUBIC_FOOT, 0.0),
        };
        Scale { suffix, unit, decimals, factor, offset }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use physics::air::MoistAir;
    use physics::units::{Celsius, MoistureFraction, Pascal};

    use super::*;

    #[test]
    fn us_enthalpy_counts_from_0_degf() {
        let at_0_degf = Celsius(-160.0 / 9.0);
        let dry = MoistAir::from_moisture(at_0_degf, MoistureFraction(0.0), Pascal(101_325.0)).unwrap();
        let enthalpy = Units::Us.scale(Kind::Enthalpy).apply(dry.enthalpy().0);
        assert!(enthalpy.abs() < 1e-4, "{enthalpy}: {}", dry.enthalpy().0);
    }
}

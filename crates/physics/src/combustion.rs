//! Burning gas: calorific values, air, flue gas, and the water that a direct-fired burner brings
//! into the oven.
//!
//! Complete combustion in air of 20.946 % oxygen. Volumes are normal (0 °C, 101.325 kPa, ideal
//! gas). Gross calorific values at 25 °C: ISO 6976:2016, typed from memory and checked against
//! three gases; the net value is the gross one less 44.013 kJ per mole of water formed.

mod component;
mod flue_gas;

pub use component::Component;
pub use flue_gas::FlueGas;

use crate::error::OutOfRange;
use crate::molar_mass;
use crate::units::{HumidityRatio, JoulePerKilogram, JoulePerNormalCubicMetre, KilogramPerKilowattHour};

/// Volume of a mole of ideal gas at 0 °C and 101.325 kPa, m³/mol (CODATA).
const MOLAR_VOLUME: f64 = 0.022_413_97;
/// Share of oxygen in dry air by volume (ISO 6976 uses the same air).
const OXYGEN_IN_AIR: f64 = 0.209_46;
/// Heat of vaporisation of water at 25 °C, J/mol (ISO 6976:2016).
const WATER_CONDENSATION: f64 = 44_013.0;
const JOULE_PER_KILOWATT_HOUR: f64 = 3.6e6;
/// How far the shares of a gas analysis may be from 1 together.
const ANALYSIS_SLACK: f64 = 0.02;
const MOST_EXCESS_AIR: f64 = 100.0;

/// Which calorific value a figure is counted on. Bills are gross; burners are often rated net.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeatBasis {
    /// Higher value: the water of combustion is counted as condensed.
    Gross,
    /// Lower value: the water of combustion leaves as vapour.
    Net,
}

/// A fuel gas, by what a mole of it needs and makes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fuel {
    /// Molar mass, kg/mol.
    mass: f64,
    /// Gross heat of combustion, J/mol.
    gross: f64,
    /// Oxygen that it needs, mol/mol.
    oxygen: f64,
    /// Carbon dioxide in the flue gas, mol/mol.
    carbon_dioxide: f64,
    /// Water in the flue gas, mol/mol.
    water: f64,
    /// Nitrogen that the gas itself brings, mol/mol.
    nitrogen: f64,
}

impl Fuel {
    const NOTHING: Self = Self { mass: 0.0, gross: 0.0, oxygen: 0.0, carbon_dioxide: 0.0, water: 0.0, nitrogen: 0.0 };

    /// A gas from its analysis: each component with its share by volume.
    ///
    /// The shares are scaled to 1 together. [`OutOfRange`] if one is negative or no number, or if
    /// together they are not within 2 % of 1.
    pub fn from_analysis(analysis: &[(Component, f64)]) -> Result<Self, OutOfRange> {
        let mut total = 0.0;
        for (_, share) in analysis {
            total += OutOfRange::unless_in(0.0..=1.0 + ANALYSIS_SLACK, "share of a gas component", *share, "")?;
        }
        let range = 1.0 - ANALYSIS_SLACK..=1.0 + ANALYSIS_SLACK;
        OutOfRange::unless_in(range, "sum of the gas analysis", total, "")?;
        let mut fuel = Self::NOTHING;
        for &(component, share) in analysis {
            component.add_to(&mut fuel, share / total);
        }
        OutOfRange::unless_in(1e3..=f64::MAX, "heat of combustion of the gas", fuel.gross, "J/mol")?;
        Ok(fuel)
    }

    /// Pure methane: the usual stand-in for natural gas.
    #[must_use]
    pub fn methane() -> Self {
        let mut fuel = Self::NOTHING;
        Component::Methane.add_to(&mut fuel, 1.0);
        fuel
    }

    /// Calorific value by volume, H = ΔH/V_m.
    #[must_use]
    pub fn heat(&self, basis: HeatBasis) -> JoulePerNormalCubicMetre {
        JoulePerNormalCubicMetre(self.molar_heat(basis) / MOLAR_VOLUME)
    }

    /// Calorific value by mass, J per kg of gas.
    #[must_use]
    pub fn heat_by_mass(&self, basis: HeatBasis) -> JoulePerKilogram {
        JoulePerKilogram(self.molar_heat(basis) / self.mass)
    }

    /// Dry air that complete combustion needs, m³ per m³ of gas.
    #[must_use]
    pub fn air_by_volume(&self) -> f64 {
        self.oxygen / OXYGEN_IN_AIR
    }

    /// Dry air that complete combustion needs, kg per kg of gas.
    #[must_use]
    pub fn air_by_mass(&self) -> f64 {
        self.air_by_volume() * molar_mass::DRY_AIR / self.mass
    }

    /// Water that the fuel's hydrogen makes, per heat: methane 0.162 kg per kWh net, 0.146 gross.
    #[must_use]
    pub fn water(&self, basis: HeatBasis) -> KilogramPerKilowattHour {
        KilogramPerKilowattHour(self.water * molar_mass::WATER / self.molar_heat(basis) * JOULE_PER_KILOWATT_HOUR)
    }

    /// Water that the fuel's hydrogen makes, kg per normal m³ of gas.
    #[must_use]
    pub fn water_by_volume(&self) -> f64 {
        self.water * molar_mass::WATER / MOLAR_VOLUME
    }

    /// Carbon dioxide in the flue gas, per heat.
    #[must_use]
    pub fn carbon_dioxide(&self, basis: HeatBasis) -> KilogramPerKilowattHour {
        let mass = self.carbon_dioxide * molar_mass::CARBON_DIOXIDE;
        KilogramPerKilowattHour(mass / self.molar_heat(basis) * JOULE_PER_KILOWATT_HOUR)
    }

    /// Burns the gas with `excess_air` (0.3 is 30 % more air than needed) of this humidity.
    ///
    /// Range: excess air 0 to 100, humidity ratio 0 to 1 kg/kg, else [`OutOfRange`].
    pub fn burn(&self, excess_air: f64, air_humidity: HumidityRatio) -> Result<FlueGas, OutOfRange> {
        let excess = OutOfRange::unless_in(0.0..=MOST_EXCESS_AIR, "excess air", excess_air, "")?;
        let vapour = vapour_with_air(air_humidity)?;
        let air = self.air_by_volume() * (1.0 + excess);
        Ok(FlueGas {
            carbon_dioxide: self.carbon_dioxide,
            water: self.water + air * vapour,
            oxygen: excess * self.oxygen,
            inert: self.nitrogen + air * (1.0 - OXYGEN_IN_AIR),
        })
    }

    /// Excess air from the oxygen in dry flue gas (0.05 is 5 %):
    /// e = O₂/(O₂,air − O₂) · V_dry/V_air, the volumes at no excess.
    ///
    /// The short form O₂/(O₂,air − O₂) leaves the last factor out and is 11.7 % high for methane.
    /// Range: oxygen 0 to just below air's 0.20946, else [`OutOfRange`].
    pub fn excess_air_from_dry_oxygen(&self, oxygen: f64) -> Result<f64, OutOfRange> {
        let flue = self.burn(0.0, HumidityRatio(0.0))?;
        self.excess_air(oxygen, flue.dry_volume(), OXYGEN_IN_AIR)
    }

    /// Excess air from the oxygen in wet flue gas, as a probe in the duct reads it; the combustion
    /// air had this humidity. Range: oxygen 0 to just below moist air's, else [`OutOfRange`].
    pub fn excess_air_from_wet_oxygen(&self, oxygen: f64, air_humidity: HumidityRatio) -> Result<f64, OutOfRange> {
        let flue = self.burn(0.0, air_humidity)?;
        self.excess_air(oxygen, flue.wet_volume(), OXYGEN_IN_AIR / (1.0 + vapour_with_air(air_humidity)?))
    }

    /// Each share of excess air adds its oxygen and its volume to the flue gas of `volume`; solved
    /// for the share.
    fn excess_air(&self, oxygen: f64, volume: f64, oxygen_in_air: f64) -> Result<f64, OutOfRange> {
        let air = self.oxygen / oxygen_in_air;
        let most = MOST_EXCESS_AIR * self.oxygen / (volume + MOST_EXCESS_AIR * air);
        let oxygen = OutOfRange::unless_in(0.0..=most, "oxygen in the flue gas", oxygen, "")?;
        Ok(oxygen / (oxygen_in_air - oxygen) * volume / air)
    }

    fn molar_heat(&self, basis: HeatBasis) -> f64 {
        match basis {
            HeatBasis::Gross => self.gross,
            HeatBasis::Net => self.gross - self.water * WATER_CONDENSATION,
        }
    }
}

/// Moles of vapour that come with a mole of dry air.
fn vapour_with_air(humidity: HumidityRatio) -> Result<f64, OutOfRange> {
    let ratio = OutOfRange::unless_in(0.0..=1.0, "humidity ratio of the combustion air", humidity.0, "kg/kg")?;
    Ok(ratio / crate::air::WATER_TO_AIR_MASS)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn methane_brings_0_162_kg_of_water_per_kwh_net() {
        assert!((Fuel::methane().water(HeatBasis::Net).0 - 0.162).abs() < 5e-4);
        assert!((Fuel::methane().water(HeatBasis::Gross).0 - 0.146).abs() < 5e-4);
    }

    #[test]
    fn the_short_formula_for_excess_air_is_11_7_percent_high() {
        let oxygen = 0.05;
        let short = oxygen / (OXYGEN_IN_AIR - oxygen);
        let exact = Fuel::methane().excess_air_from_dry_oxygen(oxygen).unwrap();
        assert!((short / exact - 1.117).abs() < 5e-4);
    }

    #[test]
    fn excess_air_returns_from_either_oxygen() {
        for excess in [0.0, 0.1, 1.0, 9.0, 100.0] {
            for humidity in [0.0, 0.01, 0.5] {
                let humidity = HumidityRatio(humidity);
                let flue = Fuel::methane().burn(excess, humidity).unwrap();
                let dry = Fuel::methane().excess_air_from_dry_oxygen(flue.oxygen_dry()).unwrap();
                let wet = Fuel::methane().excess_air_from_wet_oxygen(flue.oxygen_wet(), humidity).unwrap();
                assert!((dry - excess).abs() < 1e-9 * (1.0 + excess), "{dry} for {excess}");
                assert!((wet - excess).abs() < 1e-9 * (1.0 + excess), "{wet} for {excess}");
            }
        }
    }

    #[test]
    fn an_analysis_has_to_add_up_and_burn() {
        use Component::{Methane, Nitrogen};
        let quantity = |analysis: &[_]| Fuel::from_analysis(analysis).unwrap_err().quantity;
        assert_eq!(quantity(&[(Methane, 0.9)]), "sum of the gas analysis");
        assert_eq!(quantity(&[(Methane, f64::NAN)]), "share of a gas component");
        assert_eq!(quantity(&[(Methane, -0.1), (Nitrogen, 1.1)]), "share of a gas component");
        assert_eq!(quantity(&[(Nitrogen, 1.0)]), "heat of combustion of the gas");
        let scaled = Fuel::from_analysis(&[(Methane, 0.99)]).unwrap();
        assert!((scaled.heat(HeatBasis::Net).0 / Fuel::methane().heat(HeatBasis::Net).0 - 1.0).abs() < 1e-12);
    }

    #[test]
    fn impossible_oxygen_is_an_error() {
        for bad in [-0.01, 0.209_46, 0.3, f64::NAN] {
            let error = Fuel::methane().excess_air_from_dry_oxygen(bad).unwrap_err();
            assert_eq!(error.quantity, "oxygen in the flue gas");
        }
        assert_eq!(Fuel::methane().burn(f64::INFINITY, HumidityRatio(0.0)).unwrap_err().quantity, "excess air");
    }
}

//! What leaves the flame.

use super::MOLAR_VOLUME;
use crate::air::heat;
use crate::error::OutOfRange;
use crate::molar_mass;
use crate::saturation;
use crate::units::{Celsius, JoulePerNormalCubicMetre, MoistureFraction, Pascal};

/// Flue gas of complete combustion, in moles per mole (m³ per m³) of fuel gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlueGas {
    pub(super) carbon_dioxide: f64,
    pub(super) water: f64,
    pub(super) oxygen: f64,
    /// Nitrogen, argon and the trace gases of air.
    pub(super) inert: f64,
}

impl FlueGas {
    /// Volume with its vapour, m³ per m³ of fuel gas, both normal.
    #[must_use]
    pub fn wet_volume(&self) -> f64 {
        self.dry_volume() + self.water
    }

    /// Volume without vapour, m³ per m³ of fuel gas, both normal.
    #[must_use]
    pub fn dry_volume(&self) -> f64 {
        self.carbon_dioxide + self.oxygen + self.inert
    }

    /// Share of oxygen in the dry gas, as an analyser with a cooler reads it.
    #[must_use]
    pub fn oxygen_dry(&self) -> f64 {
        self.oxygen / self.dry_volume()
    }

    /// Share of oxygen in the wet gas, as a probe in the duct reads it.
    #[must_use]
    pub fn oxygen_wet(&self) -> f64 {
        self.oxygen / self.wet_volume()
    }

    /// Share of carbon dioxide in the dry gas.
    #[must_use]
    pub fn carbon_dioxide_dry(&self) -> f64 {
        self.carbon_dioxide / self.dry_volume()
    }

    /// Share of vapour in the wet gas.
    #[must_use]
    pub fn moisture(&self) -> MoistureFraction {
        MoistureFraction(self.water / self.wet_volume())
    }

    /// Temperature below which the flue condenses.
    ///
    /// [`OutOfRange`] if the vapour pressure has no dew point ([`saturation::temperature`]).
    pub fn dew_point(&self, pressure: Pascal) -> Result<Celsius, OutOfRange> {
        saturation::temperature(Pascal(self.moisture().0 * pressure.0))
    }

    /// Heat that the gas carries off at `flue` over `ambient`, per normal m³ of fuel gas, its
    /// vapour uncondensed: over the net calorific value it is the flue's loss.
    ///
    /// Range: both −60 to 800 °C, else [`OutOfRange`]. Ideal gases with heat capacities that rise
    /// with temperature, within 0.1 %. Sources: Span et al. 2000 (nitrogen), Schmidt and Wagner
    /// 1985 (oxygen), Span and Wagner 1996 (carbon dioxide), IAPWS R7-97(2012) (water).
    pub fn heat(&self, flue: Celsius, ambient: Celsius) -> Result<JoulePerNormalCubicMetre, OutOfRange> {
        OutOfRange::unless_in(-60.0..=800.0, "flue gas temperature", flue.0, "degC")?;
        OutOfRange::unless_in(-60.0..=800.0, "ambient temperature", ambient.0, "degC")?;
        Ok(JoulePerNormalCubicMetre((self.molar_heat(flue) - self.molar_heat(ambient)) / MOLAR_VOLUME))
    }

    fn molar_heat(&self, temperature: Celsius) -> f64 {
        let kelvin = temperature.kelvin();
        let inert = (1.0 - ARGON_IN_INERT) * NITROGEN.enthalpy(kelvin) + ARGON_IN_INERT * 2.5 * GAS_CONSTANT * kelvin;
        self.carbon_dioxide * CARBON_DIOXIDE.enthalpy(kelvin)
            + self.water * molar_mass::WATER * heat::vapour(temperature.0)
            + self.oxygen * OXYGEN.enthalpy(kelvin)
            + self.inert * inert
    }
}

/// Molar gas constant, J/(mol K).
const GAS_CONSTANT: f64 = 8.314_462_6;
/// Argon's share of what air is made of beside oxygen.
const ARGON_IN_INERT: f64 = 0.0118;

/// An ideal gas that vibrates: heat capacity 3.5 R and Planck–Einstein terms.
struct Gas {
    /// Weight and temperature (K) of each term.
    vibrations: &'static [(f64, f64)],
}

const NITROGEN: Gas = Gas { vibrations: &[(1.012_941, 3_364.011)] };
const OXYGEN: Gas = Gas { vibrations: &[(1.023_239, 2_246.32), (0.784_358, 11_259.98), (0.046_375, 5_328.05)] };
const CARBON_DIOXIDE: Gas = Gas {
    vibrations: &[
        (1.994_270, 958.50),
        (0.621_052, 1_858.80),
        (0.411_953, 2_061.10),
        (1.040_289, 3_443.90),
        (0.083_277, 8_238.20),
    ],
};

impl Gas {
    /// Over absolute zero, J/mol.
    fn enthalpy(&self, kelvin: f64) -> f64 {
        let vibration: f64 = self.vibrations.iter().map(|(weight, own)| weight * own / (own / kelvin).exp_m1()).sum();
        GAS_CONSTANT * (3.5 * kelvin + vibration)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::combustion::{Fuel, HeatBasis};
    use crate::units::HumidityRatio;

    #[test]
    fn gases_follow_their_reference_equations() {
        // CoolProp 8.0.0, ideal-gas limit (density 1e-9 mol/m3), J/mol from 25 to 250 degC.
        let between = |gas: &Gas| gas.enthalpy(523.15) - gas.enthalpy(298.15);
        for (gas, wanted) in [(&NITROGEN, 6_596.885), (&OXYGEN, 6_807.030), (&CARBON_DIOXIDE, 9_349.540)] {
            assert!((between(gas) / wanted - 1.0).abs() < 1e-3, "{}", between(gas));
        }
    }

    #[test]
    fn a_flue_at_200_degc_and_30_percent_excess_air_loses_about_a_tenth() {
        let flue = Fuel::methane().burn(0.3, HumidityRatio(0.0)).unwrap();
        let loss = flue.heat(Celsius(200.0), Celsius(20.0)).unwrap().0 / Fuel::methane().heat(HeatBasis::Net).0;
        // The short rule (t - t_ambient) (0.37 / CO2 % + 0.009) of natural gas gives 9.2 % (common practice).
        assert!((loss - 0.09).abs() < 0.005, "{loss}");
        assert!(flue.heat(Celsius(f64::NAN), Celsius(20.0)).is_err());
        assert_eq!(flue.heat(Celsius(20.0), Celsius(20.0)).unwrap().0, 0.0);
    }

    #[test]
    fn methane_flue_without_excess_air_condenses_below_59_degc() {
        let flue = Fuel::methane().burn(0.0, HumidityRatio(0.0)).unwrap();
        let dew_point = flue.dew_point(Pascal(101_325.0)).unwrap();
        assert!((dew_point.0 - 59.2).abs() < 0.1, "{dew_point:?}");
        assert!(flue.dew_point(Pascal(f64::NAN)).is_err());
    }
}

//! Water and steam: IAPWS Industrial Formulation 1997, regions 1 (liquid), 2 (vapour), 4 (both).
//!
//! Source: IAPWS R7-97(2012). Region 3 (near the critical point) and region 5 (above 800 °C) are
//! left out: no boiler that feeds an oven comes near them. Enthalpy, internal energy and entropy
//! count from liquid water at the triple point.

mod gibbs;
pub mod injection;
pub mod nozzle;
mod region1;
pub(crate) mod region2;
pub mod valve;

use crate::error::OutOfRange;
use crate::saturation;
use crate::units::{Celsius, CubicMetrePerKilogram, JoulePerKilogram, JoulePerKilogramKelvin, MetrePerSecond, Pascal};

/// Water or steam of one phase, with what IAPWS-IF97 says of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Temperature.
    pub temperature: Celsius,
    /// Absolute pressure.
    pub pressure: Pascal,
    /// Volume per mass of water.
    pub volume: CubicMetrePerKilogram,
    /// Enthalpy per mass of water, over liquid at the triple point.
    pub enthalpy: JoulePerKilogram,
    /// Internal energy per mass of water, over liquid at the triple point.
    pub internal_energy: JoulePerKilogram,
    /// Entropy per mass of water, over liquid at the triple point.
    pub entropy: JoulePerKilogramKelvin,
    /// Heat capacity at constant pressure.
    pub heat_capacity: JoulePerKilogramKelvin,
    /// Speed of sound.
    pub sound_speed: MetrePerSecond,
}

/// Liquid and vapour in balance at one pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Saturated {
    /// The boiling liquid.
    pub liquid: State,
    /// The dry saturated vapour.
    pub vapour: State,
}

/// Highest temperature at which regions 1 and 2 meet at saturation, °C.
const HIGHEST_SATURATED: f64 = 350.0;
const HIGHEST_TEMPERATURE: f64 = 800.0;
/// Far below any steam; the ideal gas holds down to nothing, but numbers do not.
const LOWEST_PRESSURE: f64 = 0.1;
const HIGHEST_PRESSURE: f64 = 100e6;
/// Lets a pressure that was computed as the saturation pressure count as either phase.
const SATURATION_SLACK: f64 = 1e-9;

/// Liquid water (region 1).
///
/// Range: 0 to 350 °C, from the saturation pressure to 100 MPa, else [`OutOfRange`]. Uncertainty
/// of enthalpy and volume well below 0.1 %. Source: R7-97(2012), equation 7.
pub fn liquid(temperature: Celsius, pressure: Pascal) -> Result<State, OutOfRange> {
    OutOfRange::unless_in(0.0..=HIGHEST_SATURATED, "water temperature", temperature.0, "degC")?;
    let boiling = saturation::pressure(temperature)?.0;
    let range = boiling * (1.0 - SATURATION_SLACK)..=HIGHEST_PRESSURE;
    OutOfRange::unless_in(range, "water pressure", pressure.0, "Pa")?;
    Ok(liquid_unchecked(temperature, pressure))
}

/// Steam, dry saturated or superheated (region 2).
///
/// Range: 0 to 800 °C, 0.1 Pa up to the saturation pressure, above 350 °C up to the boundary
/// with region 3 and 100 MPa, else [`OutOfRange`]. Uncertainty of enthalpy and volume below 0.2 %
/// under 10 bar. Source: R7-97(2012), equations 5 and 15.
pub fn vapour(temperature: Celsius, pressure: Pascal) -> Result<State, OutOfRange> {
    OutOfRange::unless_in(0.0..=HIGHEST_TEMPERATURE, "steam temperature", temperature.0, "degC")?;
    let highest = if temperature.0 <= HIGHEST_SATURATED {
        saturation::pressure(temperature)?.0 * (1.0 + SATURATION_SLACK)
    } else {
        dense_boundary(temperature).min(HIGHEST_PRESSURE)
    };
    OutOfRange::unless_in(LOWEST_PRESSURE..=highest, "steam pressure", pressure.0, "Pa")?;
    Ok(vapour_unchecked(temperature, pressure))
}

/// Boiling water and dry saturated steam at this pressure.
///
/// Range: 611.213 Pa to 16.529 MPa (0 to 350 °C), else [`OutOfRange`]. Source: R7-97(2012),
/// equations 31, 7 and 15.
pub fn saturated(pressure: Pascal) -> Result<Saturated, OutOfRange> {
    let highest = saturation::pressure(Celsius(HIGHEST_SATURATED))?.0;
    let range = saturation::FREEZING_PRESSURE.0..=highest;
    OutOfRange::unless_in(range, "saturated steam pressure", pressure.0, "Pa")?;
    let temperature = saturation::temperature(pressure)?;
    Ok(Saturated { liquid: liquid_unchecked(temperature, pressure), vapour: vapour_unchecked(temperature, pressure) })
}

/// Heat that evaporates water at this temperature, J per kg of water.
///
/// Range 0 to 350 °C, else [`OutOfRange`]. Source: as [`saturated`].
pub fn latent_heat(temperature: Celsius) -> Result<JoulePerKilogram, OutOfRange> {
    OutOfRange::unless_in(0.0..=HIGHEST_SATURATED, "water temperature", temperature.0, "degC")?;
    let pressure = saturation::pressure(temperature)?;
    let (liquid, vapour) = (liquid_unchecked(temperature, pressure), vapour_unchecked(temperature, pressure));
    Ok(JoulePerKilogram(vapour.enthalpy.0 - liquid.enthalpy.0))
}

pub(crate) fn liquid_unchecked(temperature: Celsius, pressure: Pascal) -> State {
    region1::gibbs(temperature.kelvin(), pressure.0 / 1e6).state(temperature, pressure)
}

pub(crate) fn vapour_unchecked(temperature: Celsius, pressure: Pascal) -> State {
    region2::gibbs(temperature.kelvin(), pressure.0 / 1e6).state(temperature, pressure)
}

/// Pressure at which region 3 begins above 350 °C, Pa (R7-97(2012), equation 5).
fn dense_boundary(temperature: Celsius) -> f64 {
    let t = temperature.kelvin();
    (348.051_856_289_69 - 1.167_185_987_997_5 * t + 1.019_297_003_932_6e-3 * t * t) * 1e6
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn each_phase_ends_at_saturation() {
        let boiling = saturation::pressure(Celsius(150.0)).unwrap();
        assert!(liquid(Celsius(150.0), boiling).is_ok());
        assert!(vapour(Celsius(150.0), boiling).is_ok());
        assert_eq!(liquid(Celsius(150.0), Pascal(boiling.0 * 0.999)).unwrap_err().quantity, "water pressure");
        assert_eq!(vapour(Celsius(150.0), Pascal(boiling.0 * 1.001)).unwrap_err().quantity, "steam pressure");
    }

    #[test]
    fn the_dense_region_is_refused() {
        // R7-97(2012) gives 16.5291643 MPa at 623.15 K as a check of equation 5.
        assert!((dense_boundary(Celsius(350.0)) / 16.529_164_3e6 - 1.0).abs() < 1e-8);
        assert!(vapour(Celsius(400.0), Pascal(24e6)).is_ok());
        assert_eq!(vapour(Celsius(400.0), Pascal(40e6)).unwrap_err().quantity, "steam pressure");
        assert_eq!(saturated(Pascal(17e6)).unwrap_err().quantity, "saturated steam pressure");
    }

    #[test]
    fn no_pressure_and_no_number_are_errors() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(vapour(Celsius(150.0), Pascal(bad)).is_err());
            assert!(liquid(Celsius(20.0), Pascal(bad)).is_err());
            assert!(saturated(Pascal(bad)).is_err());
        }
        assert_eq!(latent_heat(Celsius(f64::NAN)).unwrap_err().quantity, "water temperature");
    }

    #[test]
    fn heat_capacity_is_the_slope_of_enthalpy() {
        let at = |t| vapour(Celsius(t), Pascal(3e5)).unwrap();
        let slope = (at(180.01).enthalpy.0 - at(179.99).enthalpy.0) / 0.02;
        assert!((slope / at(180.0).heat_capacity.0 - 1.0).abs() < 1e-6);
    }
}

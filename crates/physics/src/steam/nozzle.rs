//! Steam through a nozzle or an injector's bore, for plants that have a pressure and no flow meter.
//!
//! The steam expands along its isentrope, liquid and vapour staying in balance (the homogeneous
//! equilibrium model). The mass flux rises as the throat pressure falls, up to a highest value:
//! that is the critical flux, and a lower pressure behind the nozzle changes nothing more.

use super::{Saturated, saturated, vapour, vapour_unchecked};
use crate::error::OutOfRange;
use crate::root::root;
use crate::units::{
    Celsius, CubicMetrePerKilogram, JoulePerKilogram, JoulePerKilogramKelvin, KilogramPerSecond, Metre, Pascal,
    SquareMetre,
};

const LOWEST_SUPPLY: f64 = 10e3;
const HIGHEST_SUPPLY: f64 = 10e6;
/// Wetter than this it is no longer steam with some water, but water with some steam.
const LOWEST_DRYNESS: f64 = 0.5;
/// Below any critical pressure ratio of steam (0.546 superheated, 0.578 saturated).
const LOWEST_RATIO: f64 = 0.4;

/// Steam at rest before a nozzle or a valve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Supply {
    pressure: Pascal,
    volume: CubicMetrePerKilogram,
    enthalpy: JoulePerKilogram,
    entropy: JoulePerKilogramKelvin,
}

impl Supply {
    /// Saturated steam of this dryness (mass of vapour per mass of steam; 1 is dry).
    ///
    /// Range: 10 kPa to 10 MPa, dryness 0.5 to 1, else [`OutOfRange`]. Source: [`saturated`].
    pub fn saturated(pressure: Pascal, dryness: f64) -> Result<Self, OutOfRange> {
        check(pressure)?;
        OutOfRange::unless_in(LOWEST_DRYNESS..=1.0, "steam dryness", dryness, "")?;
        Ok(Mixture::of(&saturated(pressure)?, dryness).supply(pressure))
    }

    /// Superheated steam. Range: 10 kPa to 10 MPa and as [`vapour`], else [`OutOfRange`].
    pub fn superheated(pressure: Pascal, temperature: Celsius) -> Result<Self, OutOfRange> {
        check(pressure)?;
        let state = vapour(temperature, pressure)?;
        Ok(Self { pressure, volume: state.volume, enthalpy: state.enthalpy, entropy: state.entropy })
    }

    /// Absolute pressure.
    #[must_use]
    pub fn pressure(&self) -> Pascal {
        self.pressure
    }

    /// Volume per kg of steam, liquid included.
    #[must_use]
    pub fn volume(&self) -> CubicMetrePerKilogram {
        self.volume
    }

    /// Enthalpy per kg of steam, liquid included, over liquid at the triple point.
    #[must_use]
    pub fn enthalpy(&self) -> JoulePerKilogram {
        self.enthalpy
    }
}

fn check(pressure: Pascal) -> Result<(), OutOfRange> {
    OutOfRange::unless_in(LOWEST_SUPPLY..=HIGHEST_SUPPLY, "steam supply pressure", pressure.0, "Pa").map(drop)
}

/// A nozzle or a drilled injector hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nozzle {
    area: SquareMetre,
    discharge_coefficient: f64,
}

impl Nozzle {
    /// A round bore. The discharge coefficient is real flow over ideal flow: 0.6 for a sharp hole
    /// to 0.98 for a rounded nozzle (common practice).
    ///
    /// Range: bore 0.1 mm to 1 m, coefficient above 0 to 1, else [`OutOfRange`].
    pub fn from_bore(bore: Metre, discharge_coefficient: f64) -> Result<Self, OutOfRange> {
        let bore = OutOfRange::unless_in(1e-4..=1.0, "nozzle bore", bore.0, "m")?;
        OutOfRange::unless_in(f64::MIN_POSITIVE..=1.0, "discharge coefficient", discharge_coefficient, "")?;
        Ok(Self { area: SquareMetre(std::f64::consts::FRAC_PI_4 * bore * bore), discharge_coefficient })
    }

    /// Flow from `supply` to `behind`, W = C_d A √(2 (h₀ − h))/v at the throat.
    ///
    /// Range: `behind` from 0 Pa to the supply pressure, else [`OutOfRange`]. Short nozzles pass up
    /// to a few per cent more, because the droplets form late. Source: isentropic equilibrium
    /// expansion over IAPWS R7-97(2012).
    pub fn flow(&self, supply: &Supply, behind: Pascal) -> Result<NozzleFlow, OutOfRange> {
        OutOfRange::unless_in(0.0..=supply.pressure.0, "pressure behind the nozzle", behind.0, "Pa")?;
        let critical = critical_pressure(supply)?;
        let throat = critical.max(behind.0);
        Ok(NozzleFlow {
            mass_flow: KilogramPerSecond(self.discharge_coefficient * self.area.0 * mass_flux(supply, throat)?),
            critical_ratio: critical / supply.pressure.0,
            choked: behind.0 <= critical,
        })
    }
}

/// What a nozzle passes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NozzleFlow {
    /// Mass flow of steam.
    pub mass_flow: KilogramPerSecond,
    /// Throat pressure over supply pressure at which the flux is highest.
    pub critical_ratio: f64,
    /// Whether the flow no longer depends on the pressure behind the nozzle.
    pub choked: bool,
}

/// Throat pressure of the highest flux, Pa: golden-section search, the flux having one summit.
fn critical_pressure(supply: &Supply) -> Result<f64, OutOfRange> {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let (mut low, mut high) = (LOWEST_RATIO * supply.pressure.0, supply.pressure.0);
    let (mut left, mut right) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut at_left, mut at_right) = (mass_flux(supply, left)?, mass_flux(supply, right)?);
    while high - low > 1e-6 * supply.pressure.0 {
        if at_left < at_right {
            (low, left, at_left) = (left, right, at_right);
            right = low + GOLDEN * (high - low);
            at_right = mass_flux(supply, right)?;
        } else {
            (high, right, at_right) = (right, left, at_left);
            left = high - GOLDEN * (high - low);
            at_left = mass_flux(supply, left)?;
        }
    }
    Ok(0.5 * (low + high))
}

/// Mass flux at a throat of this pressure, kg/(m² s).
fn mass_flux(supply: &Supply, throat: f64) -> Result<f64, OutOfRange> {
    let (enthalpy, volume) = expanded(supply, Pascal(throat))?;
    Ok((2.0 * (supply.enthalpy.0 - enthalpy).max(0.0)).sqrt() / volume)
}

/// Enthalpy and volume after an isentropic expansion to `pressure`.
fn expanded(supply: &Supply, pressure: Pascal) -> Result<(f64, f64), OutOfRange> {
    let both = saturated(pressure)?;
    let (liquid, dry) = (both.liquid.entropy.0, both.vapour.entropy.0);
    let entropy = supply.entropy.0;
    if entropy <= dry {
        let mixture = Mixture::of(&both, (entropy - liquid) / (dry - liquid));
        return Ok((mixture.enthalpy, mixture.volume));
    }
    // Superheated: expansion only cools, and the supply itself is at most 800 °C.
    let at = |celsius| vapour_unchecked(Celsius(celsius), pressure);
    let celsius = root(|celsius| at(celsius).entropy.0 - entropy, both.vapour.temperature.0, 800.0);
    let state = at(celsius);
    Ok((state.enthalpy.0, state.volume.0))
}

/// Liquid and vapour by mass.
struct Mixture {
    volume: f64,
    enthalpy: f64,
    entropy: f64,
}

impl Mixture {
    fn of(both: &Saturated, dryness: f64) -> Self {
        let mixed = |liquid: f64, vapour: f64| liquid + dryness * (vapour - liquid);
        let Saturated { liquid, vapour } = both;
        Self {
            volume: mixed(liquid.volume.0, vapour.volume.0),
            enthalpy: mixed(liquid.enthalpy.0, vapour.enthalpy.0),
            entropy: mixed(liquid.entropy.0, vapour.entropy.0),
        }
    }

    fn supply(&self, pressure: Pascal) -> Supply {
        Supply {
            pressure,
            volume: CubicMetrePerKilogram(self.volume),
            enthalpy: JoulePerKilogram(self.enthalpy),
            entropy: JoulePerKilogramKelvin(self.entropy),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn ten_millimetres() -> Nozzle {
        Nozzle::from_bore(Metre(0.01), 1.0).unwrap()
    }

    #[test]
    fn flow_rises_as_the_pressure_behind_falls_until_it_chokes() {
        let supply = Supply::saturated(Pascal::from_bar(3.0), 1.0).unwrap();
        let flow = |bar| ten_millimetres().flow(&supply, Pascal::from_bar(bar)).unwrap();
        assert_eq!(flow(3.0).mass_flow.0, 0.0);
        assert!(flow(2.9).mass_flow < flow(2.5).mass_flow);
        assert!(!flow(2.0).choked && flow(1.5).choked);
        assert_eq!(flow(1.5), flow(1.013));
    }

    #[test]
    fn superheat_chokes_at_a_lower_ratio_than_saturated_steam() {
        let saturated = Supply::saturated(Pascal::from_bar(5.0), 1.0).unwrap();
        let superheated = Supply::superheated(Pascal::from_bar(5.0), Celsius(250.0)).unwrap();
        let ratio = |supply| ten_millimetres().flow(supply, Pascal(0.0)).unwrap().critical_ratio;
        // Ideal gas of exponent 1.3: 0.5457.
        assert!((ratio(&superheated) - 0.546).abs() < 0.004, "{}", ratio(&superheated));
        assert!(ratio(&saturated) > 0.57);
    }

    #[test]
    fn wet_steam_passes_more_mass_than_dry() {
        let flow = |dryness| {
            let supply = Supply::saturated(Pascal::from_bar(3.0), dryness).unwrap();
            ten_millimetres().flow(&supply, Pascal(0.0)).unwrap().mass_flow
        };
        assert!(flow(0.9) > flow(1.0));
    }

    #[test]
    fn out_of_range_names_the_quantity() {
        let supply = Supply::saturated(Pascal::from_bar(3.0), 1.0).unwrap();
        let quantity = |pressure| ten_millimetres().flow(&supply, pressure).unwrap_err().quantity;
        assert_eq!(quantity(Pascal::from_bar(3.1)), "pressure behind the nozzle");
        assert_eq!(quantity(Pascal(f64::NAN)), "pressure behind the nozzle");
        assert_eq!(Supply::saturated(Pascal(1e3), 1.0).unwrap_err().quantity, "steam supply pressure");
        assert_eq!(Supply::saturated(Pascal(1e5), f64::NAN).unwrap_err().quantity, "steam dryness");
        assert_eq!(Nozzle::from_bore(Metre(0.0), 1.0).unwrap_err().quantity, "nozzle bore");
        assert_eq!(Nozzle::from_bore(Metre(0.01), 1.1).unwrap_err().quantity, "discharge coefficient");
    }
}

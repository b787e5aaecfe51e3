//! Steam through a control valve, for plants that have a pressure, a valve position and no flow
//! meter. Source: IEC 60534-2-1, compressible flow, without reducers (F_P = 1).

use super::nozzle::Supply;
use crate::error::OutOfRange;
use crate::units::{KilogramPerSecond, Pascal};

/// N₆ of IEC 60534-2-1 for K_v in m³/h, pressures in bar, density in kg/m³, flow in kg/h.
const N6: f64 = 31.6;
/// N₆ for C_v in US gallons per minute, otherwise as [`N6`].
const N6_CV: f64 = 27.3;
/// Heat capacity ratio of steam (handbook value; 1.27 to 1.33 over an injection plant's range).
const STEAM_HEAT_CAPACITY_RATIO: f64 = 1.3;
/// Heat capacity ratio of the air with which valves are tested.
const AIR_HEAT_CAPACITY_RATIO: f64 = 1.4;
/// Lowest expansion factor, as the standard prints it.
const CHOKED_EXPANSION: f64 = 0.667;

/// A control valve by its maker's two figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Valve {
    flow_coefficient: f64,
    choking_ratio: f64,
}

impl Valve {
    /// A valve with flow coefficient K_v (m³/h) and pressure drop ratio at choked flow x_T.
    ///
    /// Range: K_v above 0 to 10000, x_T 0.1 to 1, else [`OutOfRange`]. A globe valve has x_T near
    /// 0.7 (common practice); take the maker's.
    pub fn from_kv(kv: f64, choking_ratio: f64) -> Result<Self, OutOfRange> {
        let flow_coefficient = OutOfRange::unless_in(f64::MIN_POSITIVE..=1e4, "flow coefficient Kv", kv, "m3/h")?;
        let choking_ratio = OutOfRange::unless_in(0.1..=1.0, "pressure drop ratio xT", choking_ratio, "")?;
        Ok(Self { flow_coefficient, choking_ratio })
    }

    /// As [`Valve::from_kv`] with the US coefficient C_v; K_v = C_v 27.3/31.6.
    pub fn from_cv(cv: f64, choking_ratio: f64) -> Result<Self, OutOfRange> {
        Self::from_kv(cv * N6_CV / N6, choking_ratio)
    }

    /// Flow from `supply` to `behind` with the valve open by `opening`, 0 to 1, as the valve's
    /// `characteristic` has it: W = N₆ K_v Y √(x p₁ ρ₁), Y = 1 − x/(3 F_k x_T), choked at
    /// x = F_k x_T.
    ///
    /// Range: opening 0 to 1, `behind` 0 Pa to the supply pressure, else [`OutOfRange`]. The
    /// standard claims no figure; a sized valve is commonly held good for 10 % (common practice).
    pub fn flow(
        &self,
        supply: &Supply,
        behind: Pascal,
        opening: f64,
        characteristic: Characteristic,
    ) -> Result<KilogramPerSecond, OutOfRange> {
        OutOfRange::unless_in(0.0..=supply.pressure().0, "pressure behind the valve", behind.0, "Pa")?;
        OutOfRange::unless_in(0.0..=1.0, "valve opening", opening, "")?;
        let choking = STEAM_HEAT_CAPACITY_RATIO / AIR_HEAT_CAPACITY_RATIO * self.choking_ratio;
        let drop = ((supply.pressure().0 - behind.0) / supply.pressure().0).min(choking);
        let expansion = (1.0 - drop / (3.0 * choking)).max(CHOKED_EXPANSION);
        let bar = supply.pressure().0 / 1e5;
        let kv = self.flow_coefficient * characteristic.share(opening);
        Ok(KilogramPerSecond(N6 * kv * expansion * (drop * bar / supply.volume().0).sqrt() / 3600.0))
    }
}

/// How a valve's flow coefficient grows with its opening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Characteristic {
    /// In proportion.
    Linear,
    /// By equal percentages, from 1/50 of the full coefficient when just open (common practice);
    /// shut is shut.
    EqualPercentage,
}

impl Characteristic {
    const RANGEABILITY: f64 = 50.0;

    fn share(self, opening: f64) -> f64 {
        match self {
            Self::Linear => opening,
            Self::EqualPercentage if opening == 0.0 => 0.0,
            Self::EqualPercentage => Self::RANGEABILITY.powf(opening - 1.0),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn supply() -> Supply {
        Supply::saturated(Pascal::from_bar(3.0), 1.0).unwrap()
    }

    #[test]
    fn a_shut_valve_passes_nothing_and_an_open_one_all() {
        let valve = Valve::from_kv(4.0, 0.7).unwrap();
        let flow = |opening, characteristic| {
            valve.flow(&supply(), Pascal::from_bar(1.013), opening, characteristic).unwrap().0
        };
        for characteristic in [Characteristic::Linear, Characteristic::EqualPercentage] {
            assert_eq!(flow(0.0, characteristic), 0.0);
        }
        assert_eq!(flow(1.0, Characteristic::Linear), flow(1.0, Characteristic::EqualPercentage));
        assert!((flow(0.5, Characteristic::Linear) / flow(1.0, Characteristic::Linear) - 0.5).abs() < 1e-12);
        assert!(flow(0.5, Characteristic::EqualPercentage) < 0.2 * flow(1.0, Characteristic::EqualPercentage));
    }

    #[test]
    fn flow_never_falls_as_the_pressure_behind_falls() {
        let valve = Valve::from_kv(4.0, 0.7).unwrap();
        let flow = |bar| valve.flow(&supply(), Pascal::from_bar(bar), 1.0, Characteristic::Linear).unwrap().0;
        let flows: Vec<f64> = (0..=300).rev().map(|step| flow(f64::from(step) / 100.0)).collect();
        assert!(flows.windows(2).all(|pair| pair[1] >= pair[0]));
        assert_eq!(flow(1.0), flow(0.0));
    }

    #[test]
    fn out_of_range_names_the_quantity() {
        let valve = Valve::from_kv(4.0, 0.7).unwrap();
        let quantity = |behind, opening| {
            valve.flow(&supply(), Pascal(behind), opening, Characteristic::Linear).unwrap_err().quantity
        };
        assert_eq!(quantity(4e5, 1.0), "pressure behind the valve");
        assert_eq!(quantity(1e5, 1.1), "valve opening");
        assert_eq!(quantity(1e5, f64::NAN), "valve opening");
        assert_eq!(Valve::from_kv(f64::INFINITY, 0.7).unwrap_err().quantity, "flow coefficient Kv");
        assert_eq!(Valve::from_cv(1.0, 0.0).unwrap_err().quantity, "pressure drop ratio xT");
    }
}

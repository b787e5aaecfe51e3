//! What a kilogram of water costs to carry out of the oven with the exhaust.

use super::{MoistAir, heat};
use crate::error::OutOfRange;
use crate::units::{CubicMetrePerKilogram, JoulePerKilogram};

/// Exhaust per kg of water that it removes. Dry exhaust is dear: the drier it is, the more hot air
/// has to leave with each kg of water, and the curve is steep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExhaustPerWater {
    /// Dry air that leaves, kg per kg of water.
    pub dry_air: f64,
    /// Volume of moist air that leaves, at its own temperature, per kg of water.
    pub volume: CubicMetrePerKilogram,
    /// All heat that leaves, counted from liquid water: evaporation included.
    pub heat: JoulePerKilogram,
    /// The part that only heats the air: what less exhaust would save.
    pub heat_of_air: JoulePerKilogram,
}

/// Exhaust of this state, fed by make-up air of that state, per kg of water removed:
/// m_a = 1/(w_exhaust − w_supply), Q = m_a (h_exhaust − h_supply).
///
/// The make-up air's water comes in as vapour and is not counted as removed. [`OutOfRange`] if the
/// exhaust is not moister than the make-up air: then it removes nothing.
///
/// Source: mass and enthalpy balance over the exhaust, with the enthalpies of [`MoistAir`].
pub fn per_water(exhaust: &MoistAir, supply: &MoistAir) -> Result<ExhaustPerWater, OutOfRange> {
    let (out, inward) = (exhaust.humidity_ratio().0, supply.humidity_ratio().0);
    let gained = out - inward;
    if gained <= 0.0 {
        let (quantity, unit) = ("exhaust humidity ratio", "kg/kg");
        return Err(OutOfRange { quantity, value: out, low: inward, high: f64::INFINITY, unit });
    }
    let dry_air = 1.0 / gained;
    let (hot, cold) = (exhaust.temperature().0, supply.temperature().0);
    let air_only = heat::dry_air(hot) - heat::dry_air(cold) + inward * (heat::vapour(hot) - heat::vapour(cold));
    Ok(ExhaustPerWater {
        dry_air,
        volume: CubicMetrePerKilogram(dry_air * exhaust.specific_volume().0),
        heat: JoulePerKilogram(dry_air * (exhaust.enthalpy().0 - supply.enthalpy().0)),
        heat_of_air: JoulePerKilogram(dry_air * air_only),
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::units::{Celsius, HumidityRatio, MoistureFraction, Pascal};

    #[test]
    fn exhaust_no_moister_than_its_make_up_air_removes_nothing() {
        let pressure = Pascal(101_325.0);
        let supply = MoistAir::from_humidity_ratio(Celsius(25.0), HumidityRatio(0.01), pressure).unwrap();
        let same = MoistAir::from_humidity_ratio(Celsius(220.0), HumidityRatio(0.01), pressure).unwrap();
        let error = per_water(&same, &supply).unwrap_err();
        assert_eq!(error.quantity, "exhaust humidity ratio");
    }

    #[test]
    fn drier_exhaust_carries_each_kilogram_dearer() {
        let pressure = Pascal(101_325.0);
        let supply = MoistAir::from_humidity_ratio(Celsius(25.0), HumidityRatio(0.01), pressure).unwrap();
        let heat = |moisture| {
            let exhaust = MoistAir::from_moisture(Celsius(220.0), MoistureFraction(moisture), pressure).unwrap();
            per_water(&exhaust, &supply).unwrap().heat.0 / 1e3
        };
        for (moisture, kilojoule) in [(0.1, 6330.0), (0.3, 3705.0), (0.5, 3248.0)] {
            assert!((heat(moisture) - kilojoule).abs() < 1.0, "{moisture}: {}", heat(moisture));
        }
    }
}

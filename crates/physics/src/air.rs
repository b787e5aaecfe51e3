//! Moist air: dew point, moisture by volume, humidity ratio and vapour pressure, each from the other.
//!
//! Air and vapour are mixed as ideal gases (the real mixture holds up to 1.5 % more water near
//! boiling). Every conversion goes through the share of vapour by volume, x = p_v/P, and the dew
//! point through [`saturation`], so the four quantities undo each other to 1e-9.
//!
//! Source: ASHRAE Handbook Fundamentals 2017, chapter 1, equations 3, 20, 36; saturation by IAPWS.

pub mod exhaust;
pub(crate) mod heat;
mod state;
mod wet_bulb;

pub use state::MoistAir;

use crate::error::OutOfRange;
use crate::saturation;
use crate::units::{Celsius, HumidityRatio, Metre, MoistureFraction, Pascal};

/// Ratio of the molar masses of water and dry air (ASHRAE Fundamentals 2017, ch. 1, eq. 20).
pub const WATER_TO_AIR_MASS: f64 = 0.621_945;

/// Lowest air pressure that is accepted, Pa: above any bakery on earth.
pub const LOWEST_AIR_PRESSURE: Pascal = Pascal(10e3);
/// Highest air pressure that is accepted, Pa: beyond it the mixture is no longer near ideal.
pub const HIGHEST_AIR_PRESSURE: Pascal = Pascal(200e3);

/// Air pressure at an elevation in the standard atmosphere, P = 101325 (1 − 2.3e-5 z)^5.2559.
///
/// Range −500 to 11000 m, else [`OutOfRange`]. Weather moves the real pressure by some ±3 %.
/// Source: ASHRAE Fundamentals 2017, ch. 1, eq. 3.
pub fn station_pressure(elevation: Metre) -> Result<Pascal, OutOfRange> {
    let z = OutOfRange::unless_in(-500.0..=11_000.0, "elevation", elevation.0, "m")?;
    Ok(Pascal(101_325.0 * (1.0 - 2.25577e-5 * z).powf(5.2559)))
}

/// Moisture by volume of air with this dew point (below 0 °C: frost point), x = p_sat(t_dew)/P.
///
/// Range: dew point from −100 °C to just below boiling at `pressure`, which itself lies in 10 to
/// 200 kPa, else [`OutOfRange`]. A dew point at or above boiling is an impossible reading.
#[inline]
pub fn moisture_from_dew_point(dew_point: Celsius, pressure: Pascal) -> Result<MoistureFraction, OutOfRange> {
    let Pascal(total) = air_pressure(pressure)?;
    match saturation::pressure(dew_point) {
        Ok(Pascal(vapour)) if vapour < total => Ok(MoistureFraction(vapour / total)),
        _ => Err(impossible_dew_point(dew_point, pressure)),
    }
}

/// Dew point (below 0 °C: frost point) of air with this moisture by volume, t_dew = t_sat(x P).
///
/// Range: 0 < moisture < 1 (dry air has no dew point; the lowest is −100 °C), pressure 10 to
/// 200 kPa, else [`OutOfRange`].
#[inline]
pub fn dew_point_from_moisture(moisture: MoistureFraction, pressure: Pascal) -> Result<Celsius, OutOfRange> {
    let Pascal(vapour) = vapour_pressure_from_moisture(moisture, pressure)?;
    saturation::temperature(Pascal(vapour)).map_err(|_| OutOfRange {
        quantity: "moisture fraction",
        value: moisture.0,
        low: saturation::LOWEST_PRESSURE.0 / pressure.0,
        high: 1.0,
        unit: "",
    })
}

/// Humidity ratio of air with this moisture by volume, w = 0.621945 x/(1 − x).
///
/// Range: 0 ≤ moisture < 1, else [`OutOfRange`]. At 1 there is no dry air left to count by.
#[inline]
pub fn humidity_ratio_from_moisture(moisture: MoistureFraction) -> Result<HumidityRatio, OutOfRange> {
    let MoistureFraction(x) = checked(moisture)?;
    Ok(HumidityRatio(WATER_TO_AIR_MASS * x / (1.0 - x)))
}

/// Moisture by volume of air with this humidity ratio, x = w/(0.621945 + w).
///
/// Range: 0 to 1e16 kg/kg, which is all that [`humidity_ratio_from_moisture`] can return, else
/// [`OutOfRange`].
#[inline]
pub fn moisture_from_humidity_ratio(ratio: HumidityRatio) -> Result<MoistureFraction, OutOfRange> {
    let w = OutOfRange::unless_in(0.0..=1e16, "humidity ratio", ratio.0, "kg/kg")?;
    Ok(MoistureFraction(w / (WATER_TO_AIR_MASS + w)))
}

/// Humidity ratio of air with this dew point. Range and errors as [`moisture_from_dew_point`].
#[inline]
pub fn humidity_ratio_from_dew_point(dew_point: Celsius, pressure: Pascal) -> Result<HumidityRatio, OutOfRange> {
    humidity_ratio_from_moisture(moisture_from_dew_point(dew_point, pressure)?)
}

/// Humidity ratio of air of this temperature and relative humidity (0 to 1), of which the vapour pressure is a share of
/// saturation's.
///
/// # Errors
/// [`OutOfRange`]: a relative humidity outside 0 to 1, or saturated air that would boil at `pressure` (10 to 200 kPa).
pub fn humidity_ratio_from_relative_humidity(
    temperature: Celsius,
    relative: f64,
    pressure: Pascal,
) -> Result<HumidityRatio, OutOfRange> {
    let relative = OutOfRange::unless_in(0.0..=1.0, "relative humidity", relative, "")?;
    let saturated = saturation::pressure(temperature)?;
    humidity_ratio_from_moisture(moisture_from_vapour_pressure(Pascal(relative * saturated.0), pressure)?)
}

/// Dew point of air with this humidity ratio. Range and errors as [`moisture_from_humidity_ratio`]
/// and [`dew_point_from_moisture`].
#[inline]
pub fn dew_point_from_humidity_ratio(ratio: HumidityRatio, pressure: Pascal) -> Result<Celsius, OutOfRange> {
    dew_point_from_moisture(moisture_from_humidity_ratio(ratio)?, pressure)
}

/// Vapour pressure of air with this moisture by volume, p_v = x P.
///
/// Range: 0 ≤ moisture < 1, pressure 10 to 200 kPa, else [`OutOfRange`].
#[inline]
pub fn vapour_pressure_from_moisture(moisture: MoistureFraction, pressure: Pascal) -> Result<Pascal, OutOfRange> {
    Ok(Pascal(checked(moisture)?.0 * air_pressure(pressure)?.0))
}

/// Moisture by volume of air with this vapour pressure, x = p_v/P.
///
/// Range: vapour pressure from 0 to just below `pressure`, which lies in 10 to 200 kPa, else
/// [`OutOfRange`].
#[inline]
pub fn moisture_from_vapour_pressure(vapour: Pascal, pressure: Pascal) -> Result<MoistureFraction, OutOfRange> {
    let Pascal(total) = air_pressure(pressure)?;
    if (0.0..total).contains(&vapour.0) {
        Ok(MoistureFraction(vapour.0 / total))
    } else {
        Err(OutOfRange { quantity: "vapour pressure", value: vapour.0, low: 0.0, high: total, unit: "Pa" })
    }
}

#[inline]
fn checked(moisture: MoistureFraction) -> Result<MoistureFraction, OutOfRange> {
    if (0.0..1.0).contains(&moisture.0) {
        Ok(moisture)
    } else {
        Err(OutOfRange { quantity: "moisture fraction", value: moisture.0, low: 0.0, high: 1.0, unit: "" })
    }
}

#[inline]
fn air_pressure(pressure: Pascal) -> Result<Pascal, OutOfRange> {
    let range = LOWEST_AIR_PRESSURE.0..=HIGHEST_AIR_PRESSURE.0;
    OutOfRange::unless_in(range, "air pressure", pressure.0, "Pa").map(Pascal)
}

/// Apart from the hot path, because only this error needs the boiling point.
#[cold]
fn impossible_dew_point(dew_point: Celsius, pressure: Pascal) -> OutOfRange {
    let boiling = saturation::temperature(pressure).unwrap_or(saturation::CRITICAL_TEMPERATURE);
    OutOfRange {
        quantity: "dew point",
        value: dew_point.0,
        low: saturation::LOWEST_TEMPERATURE.0,
        high: boiling.0,
        unit: "degC",
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    const SEA_LEVEL: Pascal = Pascal(101_325.0);

    #[test]
    fn a_dew_point_of_80_degc_is_46_8_percent_at_sea_level_and_52_8_at_1000_m() {
        let at = |pressure| moisture_from_dew_point(Celsius(80.0), pressure).unwrap().0;
        assert!((at(SEA_LEVEL) - 0.467_947).abs() < 1e-6);
        assert!((at(station_pressure(Metre(1000.0)).unwrap()) - 0.527_566).abs() < 1e-6);
    }

    /// 9.88 g/kg by ASHRAE's psychrometric chart no. 1 (from memory).
    #[test]
    fn half_saturated_air_of_25_degc_holds_9_9_grams_and_no_air_more_than_all() {
        let at = |relative| humidity_ratio_from_relative_humidity(Celsius(25.0), relative, SEA_LEVEL);
        assert!((at(0.5).unwrap().0 - 0.009_88).abs() < 1e-5, "{:?}", at(0.5));
        assert_eq!(at(0.0), Ok(HumidityRatio(0.0)));
        assert!(at(1.01).unwrap_err().to_string().contains("relative humidity"));
    }

    #[test]
    fn a_dew_point_above_boiling_names_the_boiling_point() {
        let error = moisture_from_dew_point(Celsius(100.5), SEA_LEVEL).unwrap_err();
        assert_eq!(error.to_string(), "dew point 100.5 degC is outside -100 to 99.9743 degC");
    }

    #[test]
    fn every_input_has_its_own_error() {
        let quantity = |result: Result<_, OutOfRange>| result.unwrap_err().quantity;
        let half = MoistureFraction(0.5);
        assert_eq!(quantity(moisture_from_dew_point(Celsius(f64::NAN), SEA_LEVEL).map(drop)), "dew point");
        assert_eq!(quantity(moisture_from_dew_point(Celsius(-101.0), SEA_LEVEL).map(drop)), "dew point");
        assert_eq!(quantity(moisture_from_dew_point(Celsius(80.0), Pascal(9e3)).map(drop)), "air pressure");
        assert_eq!(quantity(dew_point_from_moisture(half, Pascal(f64::INFINITY)).map(drop)), "air pressure");
        assert_eq!(quantity(dew_point_from_moisture(MoistureFraction(0.0), SEA_LEVEL).map(drop)), "moisture fraction");
        assert_eq!(quantity(humidity_ratio_from_moisture(MoistureFraction(1.0)).map(drop)), "moisture fraction");
        assert_eq!(quantity(moisture_from_humidity_ratio(HumidityRatio(-0.1)).map(drop)), "humidity ratio");
        assert_eq!(quantity(moisture_from_vapour_pressure(SEA_LEVEL, SEA_LEVEL).map(drop)), "vapour pressure");
        assert_eq!(quantity(station_pressure(Metre(f64::NAN)).map(drop)), "elevation");
    }
}

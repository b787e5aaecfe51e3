//! The pressure at which water vapour and its liquid or ice stand in balance.
//!
//! From 0 °C up this is region 4 of the IAPWS Industrial Formulation 1997 (release R7-97(2012),
//! equations 30 and 31): the two directions solve one and the same equation, so they undo each
//! other to rounding. Below 0 °C a dew point is a frost point: the sublimation pressure of IAPWS
//! R14-08(2011), equation 6.
//!
//! **The join.** At 0 °C the two releases differ by 0.01 % (the liquid there is supercooled by
//! 0.01 K). The ice side is raised by that 0.01 %, a tenth of its own uncertainty, so that the
//! curve has neither a step nor a flat: vapour pressure rises strictly with temperature from
//! −100 °C to the critical point, and every pressure has one temperature.

use crate::error::OutOfRange;
use crate::units::{Celsius, Pascal};

/// Lowest frost point that is accepted, °C. No hygrometer beside an oven reads lower.
pub const LOWEST_TEMPERATURE: Celsius = Celsius(-100.0);
/// Critical temperature of water, °C (IAPWS R2-83).
pub const CRITICAL_TEMPERATURE: Celsius = Celsius(373.946);
/// Vapour pressure at [`LOWEST_TEMPERATURE`], Pa.
pub const LOWEST_PRESSURE: Pascal = Pascal(1.404_98e-3);
/// Vapour pressure at 0 °C, where ice and liquid join, Pa (IAPWS R7-97 eq. 30).
pub const FREEZING_PRESSURE: Pascal = Pascal(611.212_677_444_345_3);
/// Critical pressure of water, Pa (IAPWS R2-83).
pub const CRITICAL_PRESSURE: Pascal = Pascal(22.064e6);

/// Saturation pressure of water, or of ice below 0 °C.
///
/// Range −100 to 373.946 °C, else [`OutOfRange`]. Uncertainty: 0.1 % below 0 °C, 0.02 % to 100 °C,
/// 0.03 % above (IAPWS R14-08, R7-97). Equation and source: see the module.
#[inline]
pub fn pressure(temperature: Celsius) -> Result<Pascal, OutOfRange> {
    let Celsius(t) = temperature;
    let range = LOWEST_TEMPERATURE.0..=CRITICAL_TEMPERATURE.0;
    OutOfRange::unless_in(range, "temperature", t, "degC")?;
    Ok(Pascal(if t < 0.0 { ice::pressure(t) } else { liquid::pressure(t) }))
}

/// Temperature at which water, or ice below 0 °C, has this saturation pressure: the dew point,
/// frost point or boiling point that belongs to it.
///
/// Range 0.00140498 Pa to 22.064 MPa, else [`OutOfRange`]. The inverse of [`pressure`] to rounding
/// (1e-11 K). Equation and source: see the module.
#[inline]
pub fn temperature(pressure: Pascal) -> Result<Celsius, OutOfRange> {
    let Pascal(p) = pressure;
    // Equation 30 overshoots the critical pressure by 1.5e-11 of it; its own result must pass here.
    let range = LOWEST_PRESSURE.0..=CRITICAL_PRESSURE.0 * (1.0 + 1e-10);
    OutOfRange::unless_in(range, "vapour pressure", p, "Pa")?;
    Ok(Celsius(if p < FREEZING_PRESSURE.0 { ice::temperature(p) } else { liquid::temperature(p) }))
}

/// Region 4 of IAPWS R7-97(2012), 0 to 373.946 °C.
mod liquid {
    const N: [f64; 10] = [
        0.116_705_214_527_67e4,
        -0.724_213_167_032_06e6,
        -0.170_738_469_400_92e2,
        0.120_208_247_024_70e5,
        -0.323_255_503_223_33e7,
        0.149_151_086_135_30e2,
        -0.482_326_573_615_91e4,
        0.405_113_405_420_57e6,
        -0.238_555_575_678_49,
        0.650_175_348_447_98e3,
    ];

    /// Equation 30: °C to Pa.
    #[inline]
    pub(super) fn pressure(celsius: f64) -> f64 {
        let t = celsius + 273.15;
        let theta = t + N[8] / (t - N[9]);
        let a = (theta + N[0]) * theta + N[1];
        let b = (N[2] * theta + N[3]) * theta + N[4];
        let c = (N[5] * theta + N[6]) * theta + N[7];
        let root = 2.0 * c / ((b * b - 4.0 * a * c).sqrt() - b);
        let square = root * root;
        square * square * 1e6
    }

    /// Equation 31: Pa to °C.
    #[inline]
    pub(super) fn temperature(pascal: f64) -> f64 {
        // Two square roots are the fourth root, and far quicker than `powf`.
        let beta = (pascal * 1e-6).sqrt().sqrt();
        let e = (beta + N[2]) * beta + N[5];
        let f = (N[0] * beta + N[3]) * beta + N[6];
        let g = (N[1] * beta + N[4]) * beta + N[7];
        let d = -2.0 * g / (f + (f * f - 4.0 * e * g).sqrt());
        let sum = N[9] + d;
        0.5 * (sum - (sum * sum - 4.0 * (N[8] + N[9] * d)).sqrt()) - 273.15
    }
}

/// Sublimation pressure of IAPWS R14-08(2011), equation 6, −100 to 0 °C here (50 K in the release).
mod ice {
    const TRIPLE_KELVIN: f64 = 273.16;
    const TRIPLE_PASCAL: f64 = 611.657;
    const A: [f64; 3] = [-0.212_144_006e2, 0.273_203_819e2, -0.610_598_130e1];
    const B: [f64; 3] = [0.333_333_333e-2, 0.120_666_667e1, 0.170_333_333e1];
    /// What carries equation 6 onto region 4 at 0 °C; see the module's documentation.
    const JOIN: f64 = 1.000_096_869_919_032;

    /// Equation 6 as released: °C to Pa.
    pub(super) fn released_pressure(celsius: f64) -> f64 {
        TRIPLE_PASCAL * log_ratio(celsius + 273.15).0.exp()
    }

    pub(super) fn pressure(celsius: f64) -> f64 {
        JOIN * released_pressure(celsius)
    }

    /// Newton's method in ln p over 1/T, where the curve is almost a straight line: four steps
    /// reach rounding from −100 °C, and the step count is fixed so that the time is too.
    pub(super) fn temperature(pascal: f64) -> f64 {
        let wanted = (pascal / (JOIN * TRIPLE_PASCAL)).ln();
        let mut inverse = (1.0 - wanted / 22.5) / TRIPLE_KELVIN;
        for _ in 0..4 {
            let kelvin = 1.0 / inverse;
            let (ratio, slope) = log_ratio(kelvin);
            inverse += (ratio - wanted) / (slope * kelvin * kelvin);
        }
        1.0 / inverse - 273.15
    }

    /// ln(p/p_triple) and its derivative by temperature (1/K).
    fn log_ratio(kelvin: f64) -> (f64, f64) {
        let theta = kelvin / TRIPLE_KELVIN;
        let log = theta.ln();
        let (mut sum, mut slope) = (0.0, 0.0);
        for (a, b) in A.iter().zip(B) {
            let term = a * (log * (b - 1.0)).exp();
            sum += term;
            slope += term * (b - 1.0);
        }
        (sum, slope / kelvin)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn matches_the_releases_verification_values() {
        // IAPWS R14-08(2011), table 3: 8.94735e-6 MPa at 230 K.
        assert!((ice::released_pressure(230.0 - 273.15) - 8.947_35).abs() < 5e-6);
        // IAPWS R7-97(2012), tables 35 and 36.
        assert!((liquid::pressure(300.0 - 273.15) / 3_536.589_41 - 1.0).abs() < 1e-8);
        assert!((liquid::temperature(1e6) + 273.15 - 453.035_632).abs() < 1e-6);
    }

    #[test]
    fn ice_and_liquid_meet_at_0_degc() {
        assert_eq!(liquid::pressure(0.0), FREEZING_PRESSURE.0);
        assert!((ice::pressure(0.0) / FREEZING_PRESSURE.0 - 1.0).abs() < 1e-15);
        // What the join costs the ice side.
        let raised = ice::pressure(-40.0) / ice::released_pressure(-40.0) - 1.0;
        assert!((0.9e-4..1.0e-4).contains(&raised));
    }

    #[test]
    fn both_ends_of_the_range_return() {
        for end in [LOWEST_TEMPERATURE, CRITICAL_TEMPERATURE] {
            let back = pressure(end).and_then(temperature).unwrap();
            assert!((back.0 - end.0).abs() < 1e-4, "{end:?} came back as {back:?}");
        }
        assert!(temperature(LOWEST_PRESSURE).unwrap() < LOWEST_TEMPERATURE);
    }

    #[test]
    fn what_is_not_a_number_in_range_is_an_error() {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, f64::MIN, -100.1, 374.0] {
            assert_eq!(pressure(Celsius(bad)).unwrap_err().quantity, "temperature");
        }
        for bad in [f64::NAN, f64::INFINITY, -1.0, 0.0, f64::MIN_POSITIVE, 22.07e6] {
            assert_eq!(temperature(Pascal(bad)).unwrap_err().quantity, "vapour pressure");
        }
    }
}

//! Enthalpies of what moist air is made of: dry air, water vapour, liquid water, ice.
//!
//! Heat capacities rise with temperature: at 220 °C a constant 1.006 kJ/(kg K) for dry air is 0.8 %
//! short. Dry air is taken as it is at 101.325 kPa (0.1 % above its ideal-gas limit), vapour in
//! the ideal-gas limit, because its partial pressure is low. Dry air counts from 0 °C, water from
//! the liquid at the triple point.

use crate::steam::region2;

/// Enthalpy of dry air at 101.325 kPa, J per kg of dry air, nought at 0 °C.
///
/// −60 to 800 °C here. Source: Lemmon, Jacobsen, Penoncello, Friend, J. Phys. Chem. Ref. Data 29
/// (2000) 331: the ideal-gas part of the Helmholtz equation exactly, h/(R T) = 1 + τ ∂α°/∂τ; the
/// rest, which is 0.3 kJ/kg at most, as a fit within 2 J/kg.
pub(crate) fn dry_air(celsius: f64) -> f64 {
    let kelvin = celsius + 273.15;
    ideal_dry_air(kelvin) + rest_of_dry_air(kelvin) - DRY_AIR_AT_0_DEGC
}

/// Ideal-gas enthalpy of water vapour, J per kg of water.
///
/// 0 to 800 °C in the source (IAPWS R7-97(2012), equation 16). Below 0 °C it is extrapolated: still
/// within 0.003 % of IAPWS-95 at −40 °C and 0.02 % at −60 °C.
pub(crate) fn vapour(celsius: f64) -> f64 {
    region2::ideal_enthalpy(celsius + 273.15)
}

/// Enthalpy of liquid water at saturation, J per kg of water.
///
/// A polynomial through region 1 of IAPWS R7-97(2012) at saturation, 0 to 125 °C, within 10 J/kg:
/// the wet bulb and the dough's surface ask for it thousands of times.
pub(crate) fn liquid(celsius: f64) -> f64 {
    LIQUID.iter().rev().fold(0.0, |sum, coefficient| sum * celsius + coefficient)
}

/// Enthalpy of ice, J per kg of water: the heat of fusion, 333.4 kJ/kg, below the liquid.
///
/// −100 to 0 °C. Source: ASHRAE Fundamentals 2017, ch. 1, eq. 35 and its constants, rounded there.
pub(crate) fn ice(celsius: f64) -> f64 {
    -333_400.0 + 2_100.0 * celsius
}

/// Molar gas constant over molar mass as Lemmon et al. use them, J/(kg K).
const DRY_AIR_GAS: f64 = 8.314_51 / 0.028_965_46;
const DRY_AIR_KELVIN: f64 = 132.631_2;
/// Coefficient and power of τ; the two terms that only move the datum (0 and 1) are left out.
const DRY_AIR_POWERS: [(f64, f64); 4] =
    [(6.057_194e-8, -3.0), (-2.102_747_69e-5, -2.0), (-1.588_607_16e-4, -1.0), (-1.953_634_2e-4, 1.5)];
const DRY_AIR_LOG: f64 = 2.490_888_032;
/// Coefficient and exponent of the vibration terms ln(1 − exp(−bτ)).
const DRY_AIR_VIBRATIONS: [(f64, f64); 2] = [(0.791_309_509, 25.363_65), (0.212_236_768, 16.907_41)];
/// Coefficient and exponent of the term ln(2/3 + exp(cτ)).
const DRY_AIR_LAST: (f64, f64) = (-0.197_938_904, 87.312_79);

fn ideal_dry_air(kelvin: f64) -> f64 {
    let tau = DRY_AIR_KELVIN / kelvin;
    let powers: f64 = DRY_AIR_POWERS.iter().map(|(n, power)| n * power * tau.powf(*power)).sum();
    let vibrations: f64 = DRY_AIR_VIBRATIONS.iter().map(|(n, b)| n * b * tau / (b * tau).exp_m1()).sum();
    let (n, c) = DRY_AIR_LAST;
    let last = n * c * tau / (1.0 + (-c * tau).exp() * 2.0 / 3.0);
    DRY_AIR_GAS * kelvin * (1.0 + powers + DRY_AIR_LOG + vibrations + last)
}

/// What attraction between the molecules takes away at 101.325 kPa, J/kg.
fn rest_of_dry_air(kelvin: f64) -> f64 {
    let ratio = 273.15 / kelvin;
    151.644_3 - (308.347_2 + 120.943_9 * ratio) * ratio
}

/// The datum: the two functions above at 273.15 K.
const DRY_AIR_AT_0_DEGC: f64 = -384_193.336_077_776 - 277.646_8;

const LIQUID: [f64; 6] = [
    -33.214_518_85,
    4_214.064_350_407_5,
    -1.052_008_838_315_1,
    0.013_402_591_290_885,
    -7.096_779_253_687_9e-5,
    1.942_235_473_442_7e-7,
];

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::saturation;
    use crate::steam;
    use crate::units::Celsius;

    #[test]
    fn dry_air_counts_from_0_degc() {
        assert!(dry_air(0.0).abs() < 1e-4, "{}", dry_air(0.0));
    }

    #[test]
    fn dry_air_follows_the_reference_equation() {
        // CoolProp 8.0.0, Air (Lemmon 2000) at 101.325 kPa, kJ/kg over 0 degC.
        let reference = [
            (-60.0, -60.342_320),
            (25.0, 25.148_885),
            (100.0, 100.777_380),
            (220.0, 223.057_713),
            (500.0, 519.703_774),
        ];
        for (celsius, wanted) in reference {
            assert!((dry_air(celsius) / 1e3 - wanted).abs() < 2e-3, "{celsius}: {}", dry_air(celsius));
        }
    }

    #[test]
    fn vapour_follows_iapws_95_below_freezing_too() {
        // CoolProp 8.0.0, Water (IAPWS-95), density 1e-9 mol/m3, kJ/kg.
        for (celsius, wanted) in
            [(-40.0, 2_427.203_23), (50.0, 2_594.674_8), (220.0, 2_918.967_7), (800.0, 4_160.663_5)]
        {
            assert!((vapour(celsius) / 1e3 / wanted - 1.0).abs() < 3e-5, "{celsius}: {}", vapour(celsius));
        }
    }

    #[test]
    fn the_liquid_polynomial_follows_region_1() {
        for tenth in 1..=1250 {
            let celsius = f64::from(tenth) / 10.0;
            let wanted = steam::saturated(saturation::pressure(Celsius(celsius)).unwrap()).unwrap().liquid.enthalpy.0;
            assert!((liquid(celsius) - wanted).abs() < 10.0, "{celsius}: {} for {wanted}", liquid(celsius));
        }
    }
}

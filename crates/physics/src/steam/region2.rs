//! Region 2 of IAPWS-IF97: vapour. Equations 15 to 17 of R7-97(2012).

use super::gibbs::{GAS_CONSTANT, Gibbs};

/// Exponent J and coefficient n of the ideal-gas part, equation 16 (table 10).
#[rustfmt::skip]
const IDEAL: [(i32, f64); 9] = [
    (0, -9.6927686500217),
    (1, 10.086655968018),
    (-5, -0.005608791128302),
    (-4, 0.071452738081455),
    (-3, -0.40710498223928),
    (-2, 1.4240819171444),
    (-1, -4.383951131945),
    (2, -0.28408632460772),
    (3, 0.021268463753307),
];

/// Exponents I, J and coefficient n of the residual part, equation 17 (table 11).
#[rustfmt::skip]
const RESIDUAL: [(i32, i32, f64); 43] = [
    (1, 0, -0.0017731742473213),
    (1, 1, -0.017834862292358),
    (1, 2, -0.045996013696365),
    (1, 3, -0.057581259083432),
    (1, 6, -0.05032527872793),
    (2, 1, -3.3032641670203e-05),
    (2, 2, -0.00018948987516315),
    (2, 4, -0.0039392777243355),
    (2, 7, -0.043797295650573),
    (2, 36, -2.6674547914087e-05),
    (3, 0, 2.0481737692309e-08),
    (3, 1, 4.3870667284435e-07),
    (3, 3, -3.227767723857e-05),
    (3, 6, -0.0015033924542148),
    (3, 35, -0.040668253562649),
    (4, 1, -7.8847309559367e-10),
    (4, 2, 1.2790717852285e-08),
    (4, 3, 4.8225372718507e-07),
    (5, 7, 2.2922076337661e-06),
    (6, 3, -1.6714766451061e-11),
    (6, 16, -0.0021171472321355),
    (6, 35, -23.895741934104),
    (7, 0, -5.905956432427e-18),
    (7, 11, -1.2621808899101e-06),
    (7, 25, -0.038946842435739),
    (8, 8, 1.1256211360459e-11),
    (8, 36, -8.2311340897998),
    (9, 13, 1.9809712802088e-08),
    (10, 4, 1.0406965210174e-19),
    (10, 10, -1.0234747095929e-13),
    (10, 14, -1.0018179379511e-09),
    (16, 29, -8.0882908646985e-11),
    (16, 50, 0.10693031879409),
    (18, 57, -0.33662250574171),
    (20, 20, 8.9185845355421e-25),
    (20, 35, 3.0629316876232e-13),
    (20, 48, -4.2002467698208e-06),
    (21, 21, -5.9056029685639e-26),
    (22, 53, 3.7826947613457e-06),
    (23, 39, -1.2768608934681e-15),
    (24, 26, 7.3087610595061e-29),
    (24, 40, 5.5414715350778e-17),
    (24, 58, -9.436970724121e-07),
];

/// The dimensionless Gibbs energy and its derivatives at `kelvin` and `megapascal`.
pub(super) fn gibbs(kelvin: f64, megapascal: f64) -> Gibbs {
    let (pi, tau) = (megapascal, REDUCING_KELVIN / kelvin);
    let mut sum = Gibbs { pi, tau, value: pi.ln(), by_pi: 1.0 / pi, by_pi_pi: -1.0 / (pi * pi), ..Gibbs::ZERO };
    for (j, n) in IDEAL {
        let value = n * tau.powi(j);
        let j = f64::from(j);
        sum.value += value;
        sum.by_tau += value * j / tau;
        sum.by_tau_tau += value * j * (j - 1.0) / (tau * tau);
    }
    let t = tau - 0.5;
    for (i, j, n) in RESIDUAL {
        let value = n * pi.powi(i) * t.powi(j);
        let (i, j) = (f64::from(i), f64::from(j));
        sum.value += value;
        sum.by_pi += value * i / pi;
        sum.by_pi_pi += value * i * (i - 1.0) / (pi * pi);
        sum.by_tau += value * j / t;
        sum.by_tau_tau += value * j * (j - 1.0) / (t * t);
        sum.by_pi_tau += value * i * j / (pi * t);
    }
    sum
}

/// Enthalpy of the vapour in the limit of zero pressure, J/kg, over liquid water at the triple
/// point: h = R T* dγ°/dτ.
pub(crate) fn ideal_enthalpy(kelvin: f64) -> f64 {
    let tau = REDUCING_KELVIN / kelvin;
    let by_tau: f64 = IDEAL.iter().map(|&(j, n)| n * f64::from(j) * tau.powi(j - 1)).sum();
    GAS_CONSTANT * REDUCING_KELVIN * by_tau
}

const REDUCING_KELVIN: f64 = 540.0;

//! The chi-square distribution, by way of the regularised incomplete gamma function.

use std::f64::consts::PI;

/// Probability that a chi-square value with `degrees` degrees of freedom exceeds `value`.
///
/// 1 for a value of 0 or less; 0 where the tail is too small for an `f64` or the value is infinite;
/// NaN for a value that is no number or for `degrees` of 0. Relative error about 1e-12.
pub fn chi_square_tail(value: f64, degrees: usize) -> f64 {
    if value.is_nan() || degrees == 0 {
        return f64::NAN;
    }
    if value <= 0.0 {
        return 1.0;
    }
    if value.is_infinite() {
        return 0.0;
    }
    let (shape, x) = (degrees as f64 / 2.0, value / 2.0);
    if x < shape + 1.0 { 1.0 - lower_by_series(shape, x) } else { upper_by_fraction(shape, x) }
}

/// The value that a chi-square variable with `degrees` degrees of freedom stays below with
/// `probability` (0 to 1; outside, the nearer end is taken). NaN for `degrees` of 0.
pub fn chi_square_quantile(probability: f64, degrees: usize) -> f64 {
    let wanted_tail = 1.0 - probability;
    if degrees == 0 || wanted_tail.is_nan() {
        return f64::NAN;
    }
    if wanted_tail >= 1.0 {
        return 0.0;
    }
    if wanted_tail <= 0.0 {
        return f64::INFINITY;
    }
    let (mut low, mut high) = (0.0, degrees as f64 + 10.0);
    while chi_square_tail(high, degrees) > wanted_tail {
        high *= 2.0;
    }
    // Bisection until the bracket is as narrow as an f64 allows.
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        if chi_square_tail(middle, degrees) > wanted_tail {
            low = middle;
        } else {
            high = middle;
        }
    }
}

/// The chi-square value on the scale of a standard normal: about 0 on average, 3 where one value
/// in 740 is higher. By the cube-root rule of Wilson and Hilferty (1931, PNAS 17:684), which keeps
/// its meaning far out where the tail probability itself is no longer a number.
pub fn normal_score(value: f64, degrees: usize) -> f64 {
    let spread = 2.0 / (9.0 * degrees as f64);
    ((value.max(0.0) / degrees as f64).cbrt() - (1.0 - spread)) / spread.sqrt()
}

/// `x^a e^-x / Γ(a)`, the factor that both expansions share.
fn leading_factor(shape: f64, x: f64) -> f64 {
    (shape * x.ln() - x - ln_gamma(shape)).exp()
}

/// Lower regularised incomplete gamma function by its power series; converges fast for x < a + 1.
fn lower_by_series(shape: f64, x: f64) -> f64 {
    let mut term = 1.0 / shape;
    let mut sum = term;
    let mut denominator = shape;
    for _ in 0..1000 {
        denominator += 1.0;
        term *= x / denominator;
        sum += term;
        if term < sum * 1e-16 {
            break;
        }
    }
    sum * leading_factor(shape, x)
}

/// Upper regularised incomplete gamma function by its continued fraction, evaluated with Lentz's
/// method; converges fast for x > a + 1.
fn upper_by_fraction(shape: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let mut b = x + 1.0 - shape;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / b;
    let mut fraction = d;
    for step in 1..1000 {
        let a = -(step as f64) * (step as f64 - shape);
        b += 2.0;
        d = a * d + b;
        if d.abs() < TINY {
            d = TINY;
        }
        c = b + a / c;
        if c.abs() < TINY {
            c = TINY;
        }
        d = 1.0 / d;
        let change = d * c;
        fraction *= change;
        if (change - 1.0).abs() < 1e-15 {
            break;
        }
    }
    fraction * leading_factor(shape, x)
}

/// Natural logarithm of the gamma function for x > 0, by Lanczos' approximation with g = 7 and
/// nine terms (Godfrey's coefficients, from memory; a test holds them against factorials).
fn ln_gamma(x: f64) -> f64 {
    const COEFFICIENTS: [f64; 8] = [
        676.5203681218851,
        -1259.1392167224028,
        771.323_428_777_653_1,
        -176.615_029_162_140_6,
        12.507343278686905,
        -0.13857109526572012,
        9.984_369_578_019_572e-6,
        1.5056327351493116e-7,
    ];
    let x = x - 1.0;
    let base = x + 7.5;
    let series = COEFFICIENTS
        .iter()
        .zip(1..)
        .fold(0.999_999_999_999_809_9, |sum, (coefficient, step)| sum + coefficient / (x + f64::from(step)));
    0.5 * (2.0 * PI).ln() + (x + 0.5) * base.ln() - base + series.ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gamma_function_gives_factorials_and_the_root_of_pi() {
        let mut factorial: f64 = 1.0;
        for n in 1..20 {
            factorial *= f64::from(n);
            let found = ln_gamma(f64::from(n) + 1.0);
            assert!((found - factorial.ln()).abs() < 1e-12 * (1.0 + factorial.ln()), "{n}! gives {found}");
        }
        assert!((ln_gamma(0.5) - PI.sqrt().ln()).abs() < 1e-13);
    }

    /// With two degrees of freedom the tail is exp(−x/2), with four that times (1 + x/2), with six that
    /// times (1 + x/2 + x²/8): exact.
    #[test]
    fn tail_equals_its_closed_forms() {
        for step in 1..400 {
            let x = f64::from(step) * 0.5;
            let two = (-x / 2.0).exp();
            let four = two * (1.0 + x / 2.0);
            let six = four + two * x * x / 8.0;
            assert!((chi_square_tail(x, 2) / two - 1.0).abs() < 1e-11, "x = {x}");
            assert!((chi_square_tail(x, 4) / four - 1.0).abs() < 1e-11, "x = {x}");
            assert!((chi_square_tail(x, 6) / six - 1.0).abs() < 1e-11, "x = {x}");
        }
    }

    /// Upper critical values as printed in the NIST/SEMATECH e-Handbook of Statistical Methods,
    /// section 1.3.6.7.4 (typed from memory, three decimals).
    #[test]
    fn quantiles_equal_the_printed_table() {
        for (degrees, probability, printed) in [
            (1, 0.95, 3.841),
            (1, 0.999, 10.828),
            (5, 0.95, 11.070),
            (10, 0.90, 15.987),
            (10, 0.99, 23.209),
            (30, 0.975, 46.979),
            (100, 0.999, 149.449),
        ] {
            let found = chi_square_quantile(probability, degrees);
            assert!((found - printed).abs() < 6e-4, "{degrees} at {probability}: {found}, printed {printed}");
            assert!((chi_square_tail(found, degrees) - (1.0 - probability)).abs() < 1e-10);
        }
    }

    #[test]
    fn ends_of_the_range_are_defined() {
        assert_eq!(chi_square_tail(-1.0, 3), 1.0);
        assert_eq!(chi_square_tail(f64::INFINITY, 3), 0.0);
        assert!(chi_square_tail(f64::NAN, 3).is_nan());
        assert_eq!(chi_square_quantile(0.0, 3), 0.0);
        assert_eq!(chi_square_quantile(1.0, 3), f64::INFINITY);
    }

    #[test]
    fn normal_score_agrees_with_the_tail() {
        // Standard normal: 2.275 % lie above 2, 0.135 % above 3.
        for (tail, score) in [(0.5, 0.0), (0.02275, 2.0), (0.00135, 3.0)] {
            let value = chi_square_quantile(1.0 - tail, 8);
            assert!((normal_score(value, 8) - score).abs() < 0.03, "{tail}: {}", normal_score(value, 8));
        }
    }
}

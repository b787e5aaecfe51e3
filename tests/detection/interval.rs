//! How sure a share or a rate is.

use normal_profile::statistics::chi_square_quantile;

/// A two-sided 95 % interval leaves this much on either side.
const TAIL: f64 = 0.025;
/// The normal deviate with that tail.
const Z: f64 = 1.959_964;

/// Wilson's interval of a share: `found` of `count` (Wilson 1927). `(0, 1)` for none at all.
#[must_use]
pub fn wilson(found: usize, count: usize) -> (f64, f64) {
    if count == 0 {
        return (0.0, 1.0);
    }
    let (n, p) = (count as f64, found as f64 / count as f64);
    let spread = 1.0 + Z * Z / n;
    let middle = (p + Z * Z / (2.0 * n)) / spread;
    let half = Z / spread * (p * (1.0 - p) / n + Z * Z / (4.0 * n * n)).sqrt();
    ((middle - half).max(0.0), (middle + half).min(1.0))
}

/// The exact interval of a Poisson rate: `count` events in `exposure` (Garwood 1936).
#[must_use]
pub fn poisson(count: usize, exposure: f64) -> (f64, f64) {
    let low = if count == 0 { 0.0 } else { chi_square_quantile(TAIL, 2 * count) / 2.0 };
    let high = chi_square_quantile(1.0 - TAIL, 2 * count + 2) / 2.0;
    (low / exposure, high / exposure)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: (f64, f64), wanted: (f64, f64)) {
        assert!((found.0 - wanted.0).abs() < 2e-3 && (found.1 - wanted.1).abs() < 2e-3, "{found:?} is not {wanted:?}");
    }

    #[test]
    fn wilson_agrees_with_figures_known_from_the_formula() {
        // 8 of 10: (0.4902, 0.9433); 10 of 10: (0.7225, 1). By hand from Wilson's formula.
        near(wilson(8, 10), (0.4902, 0.9433));
        near(wilson(10, 10), (0.7225, 1.0));
        assert_eq!(wilson(0, 0), (0.0, 1.0));
    }

    #[test]
    fn poisson_agrees_with_the_printed_table() {
        // Garwood's table of exact 95 % limits (from memory): 0: 3.689; 1: 0.0253 to 5.572; 10: 4.795 to 18.390.
        near(poisson(0, 1.0), (0.0, 3.6889));
        near(poisson(1, 1.0), (0.0253, 5.5716));
        near(poisson(10, 1.0), (4.7954, 18.3904));
    }
}

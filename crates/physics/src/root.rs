//! The one solver: where a continuous function of one variable changes sign.

/// More than bisection alone needs to close any bracket to rounding.
const LIMIT: usize = 200;

/// The root of `f` between `low` and `high`, at whose ends `f` has opposite signs.
///
/// Chandrupatla's method (Adv. Eng. Software 28 (1997) 145): inverse quadratic steps where the
/// curve is smooth, bisection where it is not, and it ends only when the bracket has closed. If
/// the ends have the same sign the answer is the end where `f` is nearer to nought: never a panic,
/// never a number outside the bracket.
pub(crate) fn root(mut f: impl FnMut(f64) -> f64, low: f64, high: f64) -> f64 {
    let tolerance = 1e-13 * (1.0 + low.abs().max(high.abs()));
    // The root lies between a and b; c is the point that was dropped last.
    let (mut a, mut b) = (low, high);
    let (mut at_a, mut at_b) = (f(a), f(b));
    let mut best = if at_a.abs() < at_b.abs() { a } else { b };
    if at_a * at_b >= 0.0 {
        return best;
    }
    let mut share = 0.5;
    for _ in 0..LIMIT {
        let x = a + share * (b - a);
        let at_x = f(x);
        let (c, at_c);
        if (at_x > 0.0) == (at_a > 0.0) {
            (c, at_c) = (a, at_a);
        } else {
            (c, at_c) = (b, at_b);
            (b, at_b) = (a, at_a);
        }
        (a, at_a) = (x, at_x);
        let at_best;
        (best, at_best) = if at_a.abs() < at_b.abs() { (a, at_a) } else { (b, at_b) };
        let least = tolerance / (b - a).abs();
        if at_best == 0.0 || least > 0.5 {
            break;
        }
        let (along, across) = ((a - b) / (c - b), (at_a - at_b) / (at_c - at_b));
        let smooth = across * across < along && (1.0 - across) * (1.0 - across) < 1.0 - along;
        share = if smooth {
            at_a / (at_b - at_a) * at_c / (at_b - at_c)
                + (c - a) / (b - a) * at_a / (at_c - at_a) * at_b / (at_c - at_b)
        } else {
            0.5
        };
        share = share.clamp(least, 1.0 - least);
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_roots_of_steep_flat_and_kinked_curves() {
        let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-10, "{found} for {wanted}");
        near(root(|x| x.exp() - 1e6, -50.0, 50.0), 1e6_f64.ln());
        near(root(|x| 2.0 - x * x * x, 0.0, 100.0), 2_f64.cbrt());
        near(root(|x| if x < 3.0 { (x - 3.0) * 1e-3 } else { (x - 3.0) * 1e3 }, -10.0, 10.0), 3.0);
    }

    #[test]
    fn without_a_root_stays_at_the_nearer_end() {
        assert_eq!(root(|x| x + 10.0, 0.0, 1.0), 0.0);
    }
}

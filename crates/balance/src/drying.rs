//! Drying belongs to the time in the oven, not to the place.

/// The share of its bake loss that dough has given off after some time in the oven: a Weibull curve, slow while the
/// dough warms, fastest in the first half, tailing off. Drying curves of this form are common practice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DryingCurve {
    /// Form of the curve: 1 dries fastest at once, 2 is usual for bread, above 3 dries in a narrow time.
    pub shape: f64,
    /// Minutes in the oven after which 63 % of what ever dries has dried.
    pub scale_min: f64,
}

impl DryingCurve {
    /// Share given off after so many minutes, 1 at the nominal bake time; a longer bake goes beyond 1.
    #[must_use]
    pub fn dried(&self, minutes: f64, nominal_min: f64) -> f64 {
        self.weibull(minutes) / self.weibull(nominal_min)
    }

    fn weibull(&self, minutes: f64) -> f64 {
        -(-(minutes.max(0.0) / self.scale_min).powf(self.shape)).exp_m1()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nominal_bake_loses_the_whole_bake_loss_and_a_shorter_one_less() {
        let curve = DryingCurve { shape: 2.0, scale_min: 9.6 };
        assert_eq!(curve.dried(24.0, 24.0), 1.0);
        assert_eq!(curve.dried(0.0, 24.0), 0.0);
        let share = curve.dried(9.6, 24.0);
        assert!((share - 0.633).abs() < 0.002, "{share}");
        assert!(curve.dried(22.0, 24.0) < 1.0 && curve.dried(26.0, 24.0) > 1.0);
    }
}

//! What a damper lets through.

/// What a shut damper still lets through, as a share of the open one (common practice).
const LEAK: f64 = 0.03;

/// Flow through a damper against its opening: a power of it over a small leak. The free area of a turning disc
/// rises with a power of about 1.8 of its opening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DamperCurve {
    /// The power, 0.3 (quick opening) to 4 (slow opening).
    pub power: f64,
}

impl DamperCurve {
    /// Share of the full flow at an opening from 0 to 1.
    #[must_use]
    pub fn share(&self, opening: f64) -> f64 {
        LEAK + (1.0 - LEAK) * opening.clamp(0.0, 1.0).powf(self.power)
    }

    /// The opening that lets this share through; 0 or 1 where none does.
    #[must_use]
    pub fn opening(&self, share: f64) -> f64 {
        ((share - LEAK) / (1.0 - LEAK)).clamp(0.0, 1.0).powf(1.0 / self.power)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn opening_undoes_share() {
        let damper = DamperCurve { power: 1.7 };
        for percent in 0..=100 {
            let opening = f64::from(percent) / 100.0;
            assert!((damper.opening(damper.share(opening)) - opening).abs() < 1e-9, "{opening}");
        }
        assert_eq!(damper.opening(2.0), 1.0);
        assert_eq!(damper.share(0.0), LEAK);
    }
}

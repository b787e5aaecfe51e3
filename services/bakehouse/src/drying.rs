//! Drying belongs to the time in the oven, not to the place.

/// The share of its bake loss that dough has given off after some time in the oven.
///
/// A Weibull curve over time in units of the nominal bake time, scaled so that the nominal bake
/// loses the whole bake loss: slow while the dough warms, fastest in the first half, tailing off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DryingCurve {
    shape: f64,
    scale: f64,
    at_nominal: f64,
}

impl DryingCurve {
    /// A curve with this Weibull shape (about 2 for bread) and scale (about 0.4 bake times).
    pub fn new(shape: f64, scale: f64) -> Self {
        Self { shape, scale, at_nominal: weibull(1.0, shape, scale) }
    }

    /// The Weibull shape.
    pub fn shape(&self) -> f64 {
        self.shape
    }

    /// The Weibull scale, in nominal bake times.
    pub fn scale(&self) -> f64 {
        self.scale
    }

    /// Share of the bake loss given off at this age, 1 at the nominal bake time.
    pub fn dried(&self, age: f64) -> f64 {
        weibull(age, self.shape, self.scale) / self.at_nominal
    }
}

fn weibull(age: f64, shape: f64, scale: f64) -> f64 {
    1.0 - (-(age.max(0.0) / scale).powf(shape)).exp()
}

/// The curve on a grid, for the millions of look-ups of a simulated day.
#[derive(Debug, Clone)]
pub(crate) struct DryingTable(Vec<f64>);

impl DryingTable {
    const PER_BAKE: f64 = 512.0;
    const BAKES: usize = 4;

    pub(crate) fn new(curve: &DryingCurve) -> Self {
        let points = Self::BAKES * Self::PER_BAKE as usize + 1;
        Self((0..points).map(|at| curve.dried(at as f64 / Self::PER_BAKE)).collect())
    }

    pub(crate) fn dried(&self, age: f64) -> f64 {
        let along = age.max(0.0) * Self::PER_BAKE;
        let before = along as usize;
        match self.0.get(before..before + 2) {
            Some(pair) => pair[0] + (pair[1] - pair[0]) * (along - before as f64),
            None => self.0[self.0.len() - 1],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nominal_bake_loses_the_whole_bake_loss() {
        let curve = DryingCurve::new(2.0, 0.4);
        assert_eq!(curve.dried(1.0), 1.0);
        assert_eq!(curve.dried(0.0), 0.0);
        assert!(curve.dried(1.1) < 1.01, "longer bakes lose hardly more water");
    }

    #[test]
    fn the_table_follows_the_curve() {
        let curve = DryingCurve::new(1.8, 0.42);
        let table = DryingTable::new(&curve);
        for step in 0..4000 {
            let age = step as f64 / 999.0;
            assert!((table.dried(age) - curve.dried(age)).abs() < 5e-5, "at {age}");
        }
        assert!((table.dried(50.0) - curve.dried(50.0)).abs() < 1e-9);
    }
}

//! The cumulative sum chart.

/// A one-sided cumulative sum chart (E. S. Page, Biometrika 41, 1954): small departures that last add
/// up, and what comes and goes does not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cusum {
    allowance: f64,
    sum: f64,
}

impl Cusum {
    /// Begins at 0. The allowance is what each value may exceed the target by, in the unit of the
    /// values: half of the shift that is to be found.
    #[must_use]
    pub fn new(allowance: f64) -> Self {
        Self { allowance, sum: 0.0 }
    }

    /// Takes the next value, as its distance above the target, and gives the sum; a value that is no
    /// number changes nothing.
    pub fn observe(&mut self, above_target: f64) -> f64 {
        let sum = (self.sum + above_target - self.allowance).max(0.0);
        if sum.is_finite() {
            self.sum = sum;
        }
        self.sum
    }

    /// Takes the sum down to this much, so that what is long known does not take long to forget.
    pub fn hold_below(&mut self, most: f64) {
        self.sum = self.sum.min(most);
    }

    /// The sum.
    #[must_use]
    pub fn sum(&self) -> f64 {
        self.sum
    }

    /// Begins again.
    pub fn reset(&mut self) {
        self.sum = 0.0;
    }
}

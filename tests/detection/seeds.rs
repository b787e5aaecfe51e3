//! Two sets of seeds that never meet: one to tune detection on, one to publish figures from.

/// Which streams are run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeedSet {
    /// For choosing methods and thresholds.
    Tuning,
    /// For the published figures, with everything frozen.
    Publishing,
}

impl SeedSet {
    /// The seed of the n-th oven.
    #[must_use]
    pub fn seed(self, nth: usize) -> u64 {
        let first = match self {
            Self::Tuning => 10_000,
            Self::Publishing => 20_000,
        };
        first + nth as u64
    }
}

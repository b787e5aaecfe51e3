//! How a normal is learned.

use crate::NotEnough;

/// How a normal is learned. The defaults are meant to be kept; each says what it guards against.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnSettings {
    /// Most ways of running (components of the mixture) that are tried.
    pub max_components: usize,
    /// Fits per number of components, each from its own start; more than quantities makes no difference.
    pub restarts: usize,
    /// Share of the windows taken for bad hours and cut off before the last fit, 0 to 0.25.
    pub trim_share: f64,
    /// A way of running seen in less than this share of the windows is not one: without this, a
    /// tight cluster of bad hours would become a component of its own.
    pub minimum_component_share: f64,
    /// Hours of baking below which nothing is learned.
    pub minimum_hours: f64,
    /// Separate runs below which nothing is learned.
    pub minimum_runs: usize,
    /// Length of a window, s.
    pub window_s: f64,
    /// Most windows a fit looks at. Neighbouring windows tell the same story, so more than this
    /// costs time and teaches nothing.
    pub most_windows_fitted: usize,
    /// Added to the variances of the scaled quantities, so that two sensors that always agree, or
    /// one that never moves, cannot make a covariance singular.
    pub covariance_floor: f64,
    /// The last fit ends when a step betters the mean log likelihood of a window by less than this.
    pub tolerance: f64,
    /// Where every random start comes from.
    pub seed: u64,
}

impl Default for LearnSettings {
    fn default() -> Self {
        Self {
            max_components: 6,
            restarts: 3,
            trim_share: 0.05,
            minimum_component_share: 0.08,
            minimum_hours: 6.0,
            minimum_runs: 3,
            window_s: 30.0,
            most_windows_fitted: 1500,
            covariance_floor: 1e-3,
            tolerance: 1e-4,
            seed: 1,
        }
    }
}

impl LearnSettings {
    /// Refuses settings that no fit can be made with.
    pub(crate) fn check(&self) -> Result<(), NotEnough> {
        let faults = [
            ("trim_share", self.trim_share, (0.0..=0.25).contains(&self.trim_share), "it must lie in 0 to 0.25"),
            (
                "covariance_floor",
                self.covariance_floor,
                self.covariance_floor > 0.0 && self.covariance_floor <= 1.0,
                "it must be above 0 and at most 1",
            ),
            ("tolerance", self.tolerance, self.tolerance > 0.0, "it must be above 0"),
            ("window_s", self.window_s, self.window_s > 0.0 && self.window_s.is_finite(), "it must be above 0"),
            ("max_components", self.max_components as f64, self.max_components >= 1, "it must be 1 or more"),
            (
                "most_windows_fitted",
                self.most_windows_fitted as f64,
                self.most_windows_fitted >= 500,
                "it must be 500 or more",
            ),
            ("restarts", self.restarts as f64, self.restarts >= 1, "it must be 1 or more"),
        ];
        let fault = faults.into_iter().find(|(_, _, is_good, _)| !is_good);
        fault.map_or(Ok(()), |(setting, value, _, expected)| Err(NotEnough::Setting { setting, value, expected }))
    }
}

//! Regression through the mixture: what is usual at a speed.

use std::borrow::Cow;
use std::f64::consts::PI;

use physics::units::MetrePerMinute;

use crate::mixture::{Mixture, log_sum_exp};
use crate::observation::{Columns, Quantity};
use crate::scaling::{LN_SPEED_SMOOTHING, Scaling};
use crate::statistics::{Cholesky, LinearError, SquareMatrix};

/// By how much ln humidity may change per ln speed beyond the learned range, one standard deviation.
/// A crew that holds the humidity makes it 0, one that touches nothing about 1: half, for not knowing.
const LN_HUMIDITY_PER_LN_SPEED: f64 = 0.5;
/// The same for air temperature, °C: 4 °C for 10 % of speed.
const TEMPERATURE_PER_LN_SPEED: f64 = 40.0;
/// A component whose ln speed spreads less than this is taken to spread so far: the slope of a way of
/// running that knows one speed only is then nearly flat instead of anything at all.
const LEAST_LN_SPEED_SPREAD: f64 = 0.01;

/// A way of running, seen from its speed.
#[derive(Debug, Clone)]
struct Branch {
    ln_weight: f64,
    /// Mean of ln speed, its variance, and that variance with the smoothing of speed.
    ln_speed: f64,
    ln_speed_variance: f64,
    smoothed_variance: f64,
    /// Mean of the other quantities at that speed, and their change per ln speed.
    mean: Vec<f64>,
    slope: Vec<f64>,
    /// Their covariance at a given speed.
    covariance: SquareMatrix,
    factor: Cholesky,
}

/// The mixture, conditioned on speed; in °C and ln kg/kg again.
#[derive(Debug, Clone)]
pub(crate) struct SpeedRegression {
    branches: Vec<Branch>,
    /// What to add to each variance per (ln speed beyond the learned range)².
    widening: Vec<f64>,
    /// Learned range of ln speed.
    range: (f64, f64),
}

/// A speed that the normal has not seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extrapolation {
    /// Slowest learned speed, m/min.
    pub slowest: MetrePerMinute,
    /// Fastest learned speed, m/min.
    pub fastest: MetrePerMinute,
    /// How far beyond the nearer of them, %.
    pub beyond_pct: f64,
}

impl std::fmt::Display for Extrapolation {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "{:.1} % outside the learned {:.2} to {:.2} m/min: the profile of the nearest learned speed stands in, with a wider band",
            self.beyond_pct, self.slowest.0, self.fastest.0
        )
    }
}

/// What is usual at one speed: a mixture over the quantities before ln speed.
pub(crate) struct AtSpeed<'a> {
    regression: &'a SpeedRegression,
    /// ln speed, held inside the learned range.
    ln_speed: f64,
    /// ln speed beyond the learned range, 0 inside.
    beyond: f64,
    /// ln of the share of each branch at this speed.
    pub(crate) ln_shares: Vec<f64>,
}

impl SpeedRegression {
    pub(crate) fn new(
        mixture: &Mixture,
        scaling: &Scaling,
        columns: &Columns,
        slowest: MetrePerMinute,
        fastest: MetrePerMinute,
    ) -> Result<Self, LinearError> {
        let speed = columns.width() - 1;
        let mut branches = Vec::with_capacity(mixture.components.len());
        for component in &mixture.components {
            let size = component.mean.len();
            if size != columns.width() || component.covariance.size() != size || scaling.spread.len() != size {
                return Err(LinearError::SizeMismatch { expected: columns.width(), found: size });
            }
            let entry = |row: usize, column: usize| {
                component.covariance.get(row, column) * scaling.spread[row] * scaling.spread[column]
            };
            let mean = |column: usize| scaling.centre[column] + scaling.spread[column] * component.mean[column];
            let variance = entry(speed, speed);
            if variance.is_nan() || variance <= 0.0 {
                return Err(LinearError::NotPositiveDefinite { pivot: speed, value: variance });
            }
            // The smoothing was added to the variance of speed and must not flatten the slope.
            let spread = (variance - LN_SPEED_SMOOTHING.powi(2)).max(LEAST_LN_SPEED_SPREAD.powi(2));
            let covariance = SquareMatrix::from_fn(speed, |row, column| {
                entry(row, column) - entry(row, speed) * entry(column, speed) / spread
            });
            branches.push(Branch {
                ln_weight: component.weight.ln(),
                ln_speed: mean(speed),
                ln_speed_variance: spread,
                smoothed_variance: variance,
                mean: (0..speed).map(mean).collect(),
                slope: (0..speed).map(|column| entry(column, speed) / spread).collect(),
                factor: Cholesky::factor(&covariance)?,
                covariance,
            });
        }
        let widening = columns.quantities().map(|quantity| match quantity {
            Quantity::LnHumidity(_) => LN_HUMIDITY_PER_LN_SPEED.powi(2),
            Quantity::Temperature(_) => TEMPERATURE_PER_LN_SPEED.powi(2),
        });
        Ok(Self { branches, widening: widening.collect(), range: (slowest.0.ln(), fastest.0.ln()) })
    }

    /// The speed at which a way of running is usually run.
    pub(crate) fn usual_speed(&self, branch: usize) -> MetrePerMinute {
        MetrePerMinute(self.branches[branch].ln_speed.exp())
    }

    /// Standard deviation of each quantity of a branch at a given speed.
    pub(crate) fn spread_at_speed(&self, branch: usize) -> Vec<f64> {
        self.branches[branch].covariance.standard_deviations()
    }

    /// What is usual at this speed.
    pub(crate) fn at(&self, speed: MetrePerMinute) -> AtSpeed<'_> {
        let (low, high) = self.range;
        // A speed that is no number is as far from anything learned as can be said.
        let wanted = if speed.0 > 0.0 && speed.0.is_finite() { speed.0.ln() } else { low - 1.0 };
        let ln_speed = wanted.clamp(low, high);
        let joint: Vec<f64> = self
            .branches
            .iter()
            .map(|branch| {
                let distance = (ln_speed - branch.ln_speed).powi(2) / branch.smoothed_variance;
                branch.ln_weight - 0.5 * (distance + (2.0 * PI * branch.smoothed_variance).ln())
            })
            .collect();
        let total = log_sum_exp(&joint);
        let ln_shares = joint.into_iter().map(|part| part - total).collect();
        AtSpeed { regression: self, ln_speed, beyond: wanted - ln_speed, ln_shares }
    }
}

impl AtSpeed<'_> {
    /// How far outside the learned range this speed is, if it is.
    pub(crate) fn extrapolation(&self) -> Option<Extrapolation> {
        let (low, high) = self.regression.range;
        (self.beyond != 0.0).then(|| Extrapolation {
            slowest: MetrePerMinute(low.exp()),
            fastest: MetrePerMinute(high.exp()),
            beyond_pct: 100.0 * self.beyond.abs().exp_m1(),
        })
    }

    /// Mean and variance of each quantity over all branches.
    pub(crate) fn mean_and_variance(&self) -> (Vec<f64>, Vec<f64>) {
        let width = self.regression.widening.len();
        let shares: Vec<f64> = self.ln_shares.iter().map(|share| share.exp()).collect();
        let means: Vec<Vec<f64>> = (0..shares.len()).map(|branch| self.branch_mean(branch)).collect();
        let mean: Vec<f64> =
            (0..width).map(|at| shares.iter().zip(&means).map(|(share, mean)| share * mean[at]).sum()).collect();
        let variance = |at: usize| {
            let spread: f64 = shares
                .iter()
                .enumerate()
                .map(|(branch, share)| {
                    let within = self.regression.branches[branch].covariance.get(at, at);
                    share * (within + (means[branch][at] - mean[at]).powi(2))
                })
                .sum();
            spread + self.widening(at)
        };
        let variance = (0..width).map(variance).collect();
        (mean, variance)
    }

    /// Mean of a branch at this speed.
    pub(crate) fn branch_mean(&self, branch: usize) -> Vec<f64> {
        let branch = &self.regression.branches[branch];
        let offset = self.ln_speed - branch.ln_speed;
        branch.mean.iter().zip(&branch.slope).map(|(mean, slope)| mean + slope * offset).collect()
    }

    /// Covariance of some quantities of a branch at this speed, factored.
    pub(crate) fn branch_factor(&self, branch: usize, quantities: &[usize]) -> Result<Cow<'_, Cholesky>, LinearError> {
        let branch = &self.regression.branches[branch];
        if self.beyond == 0.0 && quantities.len() == branch.covariance.size() {
            return Ok(Cow::Borrowed(&branch.factor));
        }
        let mut covariance = branch.covariance.select(quantities);
        for (row, &quantity) in quantities.iter().enumerate() {
            covariance.add(row, row, self.widening(quantity));
        }
        Cholesky::factor(&covariance).map(Cow::Owned)
    }

    fn widening(&self, quantity: usize) -> f64 {
        self.regression.widening[quantity] * self.beyond.powi(2)
    }
}

/// The mean slope of the first `zones` quantities (ln humidity per ln speed) at a speed, and the
/// covariance of that slope: between the branches, and for what `independent` windows can tell.
pub(crate) fn humidity_slope(at: &AtSpeed<'_>, zones: usize, independent: f64) -> (Vec<f64>, SquareMatrix) {
    let branches = &at.regression.branches;
    let shares: Vec<f64> = at.ln_shares.iter().map(|share| share.exp()).collect();
    let mean: Vec<f64> = (0..zones)
        .map(|zone| shares.iter().zip(branches).map(|(share, branch)| share * branch.slope[zone]).sum())
        .collect();
    let mut covariance = SquareMatrix::zeros(zones);
    for (share, branch) in shares.iter().zip(branches) {
        let difference: Vec<f64> = (0..zones).map(|zone| branch.slope[zone] - mean[zone]).collect();
        covariance.add_outer(&difference, *share);
        let windows = (independent * branch.ln_weight.exp()).max(1.0);
        for row in 0..zones {
            for column in 0..zones {
                let error = branch.covariance.get(row, column) / (windows * branch.ln_speed_variance);
                covariance.add(row, column, share * error);
            }
        }
    }
    (mean, covariance)
}

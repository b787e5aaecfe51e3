//! The Gaussian mixture: fitted by linfa, judged by the likelihood computed here.

use std::f64::consts::PI;

use linfa::traits::Fit;
use linfa::{DatasetBase, ParamGuard};
use linfa_clustering::{GaussianMixtureModel, GmmInitMethod};
use ndarray::{Array2, Axis};
use serde::{Deserialize, Serialize};

use crate::start::{Replay, Responsibilities};
use crate::statistics::{Cholesky, LinearError, SquareMatrix};

/// A fit that has not settled after this many steps is refused.
const MOST_STEPS: u64 = 1000;

/// One way of running.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Component {
    /// Share of the windows, 0 to 1.
    pub weight: f64,
    /// Mean, in scaled units.
    pub mean: Vec<f64>,
    /// Covariance, in scaled units.
    pub covariance: SquareMatrix,
}

/// A Gaussian mixture with full covariances.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mixture {
    /// The components, the heaviest first.
    pub components: Vec<Component>,
}

impl Mixture {
    /// Fits a mixture to the rows, starting from these responsibilities; the reason if the rows do
    /// not allow it. The fit ends when a step betters the mean log likelihood of a row by less than
    /// `tolerance`. `covariance_floor` is added to the diagonal of each covariance.
    pub(crate) fn fit(
        rows: &[Vec<f64>],
        start: &Responsibilities,
        covariance_floor: f64,
        tolerance: f64,
    ) -> Result<Self, String> {
        let (width, count) = (rows.first().map_or(0, Vec::len), start.first().map_or(0, Vec::len));
        // linfa panics on some of these and calls the others by other names.
        if rows.len() < count.max(2) || width == 0 {
            return Err(format!("{} rows of {width} values are too few for {count} components", rows.len()));
        }
        if rows.iter().any(|row| row.len() != width || row.iter().any(|value| !value.is_finite())) {
            return Err("a row is of another length or holds a value that is no number".to_owned());
        }
        let matrix = Array2::from_shape_fn((rows.len(), width), |(row, column)| rows[row][column]);
        let fitted = GaussianMixtureModel::params_with_rng(count, Replay::new(start))
            .init_method(GmmInitMethod::Random)
            // More of linfa's runs would continue this one instead of starting again.
            .n_runs(1)
            .max_n_iterations(MOST_STEPS)
            .tolerance(tolerance)
            .reg_covariance(covariance_floor)
            .check()
            .and_then(|parameters| parameters.fit(&DatasetBase::from(matrix)))
            .map_err(|error| error.to_string())?;

        let mut components: Vec<Component> = (0..count)
            .map(|at| {
                let covariance = fitted.covariances().index_axis(Axis(0), at);
                Component {
                    weight: fitted.weights()[at],
                    mean: fitted.means().row(at).to_vec(),
                    covariance: SquareMatrix::from_fn(width, |row, column| covariance[[row, column]]),
                }
            })
            .collect();
        components.sort_by(|left, right| right.weight.total_cmp(&left.weight));
        Ok(Self { components })
    }

    /// Number of free parameters: weights, means and covariances.
    pub fn parameters(&self) -> usize {
        let width = self.components.first().map_or(0, |component| component.mean.len());
        let count = self.components.len();
        count * (width + width * (width + 1) / 2) + count.saturating_sub(1)
    }

    /// The mixture made ready to be evaluated.
    pub fn density(&self) -> Result<Density<'_>, LinearError> {
        let factors: Result<_, LinearError> =
            self.components.iter().map(|component| Ok((component, Cholesky::factor(&component.covariance)?))).collect();
        Ok(Density { components: factors? })
    }
}

/// A mixture with its covariances factored.
pub struct Density<'a> {
    components: Vec<(&'a Component, Cholesky)>,
}

impl Density<'_> {
    /// Natural logarithm of weight times density, for each component.
    pub fn log_parts(&self, row: &[f64]) -> Vec<f64> {
        let part = |(component, factor): &(&Component, Cholesky)| {
            let difference: Vec<f64> = row.iter().zip(&component.mean).map(|(value, mean)| value - mean).collect();
            let distance = factor.squared_distance(&difference).unwrap_or(f64::INFINITY);
            let norm = row.len() as f64 * (2.0 * PI).ln() + factor.log_determinant();
            component.weight.ln() - 0.5 * (distance + norm)
        };
        self.components.iter().map(part).collect()
    }

    /// How much the row belongs to each component; the shares add up to 1.
    pub(crate) fn responsibilities(&self, row: &[f64]) -> Vec<f64> {
        let parts = self.log_parts(row);
        let total = log_sum_exp(&parts);
        parts.into_iter().map(|part| (part - total).exp()).collect()
    }

    /// Natural logarithm of the density.
    pub fn log_density(&self, row: &[f64]) -> f64 {
        log_sum_exp(&self.log_parts(row))
    }
}

/// ln Σ exp(v), without overflow or underflow.
pub(crate) fn log_sum_exp(values: &[f64]) -> f64 {
    let highest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if !highest.is_finite() {
        return highest;
    }
    highest + values.iter().map(|value| (value - highest).exp()).sum::<f64>().ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four clouds at the corners of a square: two components can part them either way, and which way
    /// they do follows from the start. This is what holds linfa to drawing its start from `Replay`.
    #[test]
    fn a_fit_goes_on_from_the_start_it_is_given() {
        let rows: Vec<Vec<f64>> = (0..80)
            .map(|at| {
                let (corner, ring) = (at % 4, f64::from(at / 4));
                let offset = [0.3 * (ring * 2.4).cos(), 0.3 * (ring * 2.4).sin()];
                vec![f64::from(corner % 2) * 4.0 + offset[0], f64::from(corner / 2) * 4.0 + offset[1]]
            })
            .collect();
        for (parted, shared) in [(0, 1), (1, 0)] {
            let start: Responsibilities =
                rows.iter().map(|row| if row[parted] > 2.0 { vec![1.0, 0.0] } else { vec![0.0, 1.0] }).collect();
            let mixture = Mixture::fit(&rows, &start, 1e-6, 1e-6).unwrap();
            let [first, second] = mixture.components.as_slice() else { panic!("{mixture:?}") };
            assert!((first.mean[parted] - second.mean[parted]).abs() > 3.5, "by {parted}: {mixture:?}");
            assert!((first.mean[shared] - second.mean[shared]).abs() < 0.1, "by {parted}: {mixture:?}");
        }
    }

    #[test]
    fn what_linfa_would_panic_on_is_refused() {
        let start = vec![vec![1.0], vec![1.0]];
        let refused = |rows: &[Vec<f64>]| Mixture::fit(rows, &start, 1e-3, 1e-3).unwrap_err();
        assert_eq!(refused(&[]), "0 rows of 0 values are too few for 1 components");
        assert_eq!(
            refused(&[vec![1.0], vec![f64::INFINITY]]),
            "a row is of another length or holds a value that is no number"
        );
        assert!(refused(&[vec![1.0, 2.0], vec![1.0]]).starts_with("a row is of another length"));
    }

    #[test]
    fn logarithms_of_tiny_shares_do_not_underflow() {
        assert!((log_sum_exp(&[-2000.0, -2000.0]) - (2.0f64.ln() - 2000.0)).abs() < 1e-12);
        assert_eq!(log_sum_exp(&[f64::NEG_INFINITY]), f64::NEG_INFINITY);
        assert_eq!(log_sum_exp(&[]), f64::NEG_INFINITY);
    }
}

//! The Gaussian mixture: fitted by linfa, judged by the likelihood computed here.

use std::f64::consts::PI;

use linfa::DatasetBase;
use linfa::ParamGuard;
use linfa::traits::Fit;
use linfa_clustering::{GaussianMixtureModel, GmmInitMethod};
use ndarray::{Array2, ArrayView2};
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256Plus;
use serde::{Deserialize, Serialize};

use crate::statistics::{Cholesky, LinearError, SquareMatrix};

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

/// How one fit is made.
#[derive(Debug, Clone, Copy)]
pub struct FitSettings {
    /// Number of components.
    pub components: usize,
    /// Added to the diagonal of each covariance.
    pub covariance_floor: f64,
    /// The fit ends when a step betters the mean log likelihood of a row by less than this.
    pub tolerance: f64,
    /// Which start: 0 clusters the rows as they are, every other one stretches the columns first.
    pub restart: u64,
    /// Where the random numbers come from.
    pub seed: u64,
}

impl Mixture {
    /// Fits a mixture to the rows; the reason if the rows do not allow it.
    pub fn fit(rows: &[Vec<f64>], settings: &FitSettings) -> Result<Self, String> {
        let width = rows.first().map_or(0, Vec::len);
        if rows.len() < settings.components.max(2) {
            return Err(format!("{} rows are too few for {} components", rows.len(), settings.components));
        }
        if width == 0 || rows.iter().any(|row| row.len() != width || row.iter().any(|value| !value.is_finite())) {
            return Err("a row is empty, of another length, or holds a value that is no number".to_owned());
        }
        let stretch = column_stretch(width, settings);
        let stretched = Array2::from_shape_fn((rows.len(), width), |(row, column)| rows[row][column] * stretch[column]);
        // linfa's own `n_runs` continues the same run, so restarts are made here, each with its own
        // seed. Its clustering start is k-means++ with ten tries, and repeats for a given seed.
        let fitted = GaussianMixtureModel::params_with_rng(
            settings.components,
            Xoshiro256Plus::seed_from_u64(settings.seed.wrapping_add(settings.restart)),
        )
        .init_method(GmmInitMethod::KMeans)
        .n_runs(1)
        .max_n_iterations(400)
        .tolerance(settings.tolerance)
        .reg_covariance(settings.covariance_floor)
        .check()
        .and_then(|parameters| parameters.fit(&DatasetBase::from(stretched)))
        .map_err(|error| error.to_string())?;

        let mut components: Vec<Component> = (0..settings.components)
            .map(|at| Component {
                weight: fitted.weights()[at],
                mean: fitted.means().row(at).iter().zip(&stretch).map(|(value, factor)| value / factor).collect(),
                covariance: unstretched(fitted.covariances().index_axis(ndarray::Axis(0), at), &stretch),
            })
            .collect();
        components.sort_by(|left, right| {
            right.weight.total_cmp(&left.weight).then_with(|| right.mean[0].total_cmp(&left.mean[0]))
        });
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

/// Factors for the columns of a restart. A mixture does not care how its columns are scaled, but the
/// clustering it starts from does: another stretch makes a truly different start, where another
/// seed alone would nearly always end in the same clusters.
fn column_stretch(width: usize, settings: &FitSettings) -> Vec<f64> {
    if settings.restart == 0 {
        return vec![1.0; width];
    }
    let mut random = Xoshiro256Plus::seed_from_u64(settings.seed ^ settings.restart.rotate_left(32));
    (0..width).map(|_| random.gen_range(-1.0..1.0f64).exp2()).collect()
}

fn unstretched(covariance: ArrayView2<'_, f64>, stretch: &[f64]) -> SquareMatrix {
    SquareMatrix::from_fn(stretch.len(), |row, column| covariance[[row, column]] / (stretch[row] * stretch[column]))
}

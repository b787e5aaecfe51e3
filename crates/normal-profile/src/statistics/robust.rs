//! Statistics that a few bad values cannot move far.

use super::matrix::{Cholesky, SquareMatrix};
use super::{chi_square_quantile, chi_square_tail};

/// Share of the rows that [`trimmed_scatter`] settles on before it looks at the rest.
const CORE_SHARE: f64 = 0.75;
/// Rows nearer than this chi-square probability count as good.
const GOOD_PROBABILITY: f64 = 0.975;

/// The value that a share `probability` (0 to 1) of the values lies below, interpolated linearly
/// between neighbours. NaN for no values; NaN among the values sorts last.
pub fn quantile(values: &[f64], probability: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let position = probability.clamp(0.0, 1.0) * last as f64;
    let below = position.floor();
    let (low, high) = (sorted[below as usize], sorted[position.ceil() as usize]);
    low + (high - low) * (position - below)
}

/// The middle value; NaN for no values.
pub fn median(values: &[f64]) -> f64 {
    quantile(values, 0.5)
}

/// Median distance from the median, times 1.4826: the standard deviation, if the values are normal.
pub fn robust_spread(values: &[f64]) -> f64 {
    let centre = median(values);
    let distances: Vec<f64> = values.iter().map(|value| (value - centre).abs()).collect();
    1.4826 * median(&distances)
}

/// A covariance about zero that a minority of outlying rows could not widen.
#[derive(Debug, Clone, PartialEq)]
pub struct TrimmedScatter {
    /// Covariance of the good rows, corrected for what was cut off, never below the floor.
    pub covariance: SquareMatrix,
    /// For each row, whether it counts as good.
    pub good: Vec<bool>,
}

/// Covariance about zero of rows of equal width, from their inner part.
///
/// The idea is Rousseeuw's minimum covariance determinant: concentrate on the three quarters of the
/// rows that lie closest, then take back all rows within the 97.5 % chi-square distance. The start
/// (robust spread of each column) is fixed, so the result is too. With few rows the correlations
/// are drawn towards zero, by the share width / (width + rows). `floors` are the least standard
/// deviations, one per column.
pub fn trimmed_scatter(rows: &[Vec<f64>], floors: &[f64]) -> TrimmedScatter {
    let width = floors.len();
    let spread = |column: usize| {
        let sizes: Vec<f64> = rows.iter().map(|row| row[column].abs()).collect();
        (1.4826 * median(&sizes)).max(floors[column])
    };
    let start: Vec<f64> = (0..width).map(|column| spread(column).powi(2)).collect();
    let mut covariance = SquareMatrix::diagonal(&start);
    let core = ((rows.len() as f64 * CORE_SHARE).ceil() as usize).max(1);
    for _ in 0..10 {
        let distances = squared_distances(rows, &covariance);
        let cut = nth_smallest(&distances, core - 1);
        let kept: Vec<bool> = distances.iter().map(|&distance| distance <= cut).collect();
        covariance = scatter(rows, &kept, floors, truncation_correction(CORE_SHARE, width));
    }
    let limit = chi_square_quantile(GOOD_PROBABILITY, width);
    let good: Vec<bool> = squared_distances(rows, &covariance).iter().map(|&distance| distance <= limit).collect();
    let covariance = scatter(rows, &good, floors, truncation_correction(GOOD_PROBABILITY, width));
    TrimmedScatter { covariance, good }
}

/// By how much the covariance of the innermost `kept_share` of normal rows must be enlarged to be
/// that of them all (Croux and Haesbroeck 1999, J. Multivariate Analysis 71:161).
pub(crate) fn truncation_correction(kept_share: f64, width: usize) -> f64 {
    if kept_share >= 1.0 {
        return 1.0;
    }
    let cut = chi_square_quantile(kept_share, width);
    kept_share / (1.0 - chi_square_tail(cut, width + 2))
}

fn nth_smallest(values: &[f64], index: usize) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.get(index).or(sorted.last()).copied().unwrap_or(f64::INFINITY)
}

fn squared_distances(rows: &[Vec<f64>], covariance: &SquareMatrix) -> Vec<f64> {
    // The floor on the diagonal keeps this positive definite; should it fail, no row is near.
    let Ok(factor) = Cholesky::factor(covariance) else { return vec![f64::INFINITY; rows.len()] };
    rows.iter().map(|row| factor.squared_distance(row).unwrap_or(f64::INFINITY)).collect()
}

/// Covariance about zero of the rows kept, shrunk towards its diagonal and held above the floor.
fn scatter(rows: &[Vec<f64>], kept: &[bool], floors: &[f64], correction: f64) -> SquareMatrix {
    let width = floors.len();
    let mut sum = SquareMatrix::zeros(width);
    let mut count = 0.0;
    for (row, _) in rows.iter().zip(kept).filter(|(_, kept)| **kept) {
        sum.add_outer(row, 1.0);
        count += 1.0;
    }
    let factor = correction / f64::max(count, 1.0);
    let shrink = width as f64 / (width as f64 + count);
    SquareMatrix::from_fn(width, |row, column| {
        let entry = sum.get(row, column) * factor;
        if row == column { entry.max(floors[row].powi(2)) } else { entry * (1.0 - shrink) }
    })
}

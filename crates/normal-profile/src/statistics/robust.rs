//! Statistics that a few bad values cannot move far.

use super::matrix::{Cholesky, SquareMatrix};
use super::{chi_square_quantile, chi_square_tail};

/// A row nearer than this chi-square probability is no outlier.
const GOOD_PROBABILITY: f64 = 0.999;

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

/// Covariance about zero of rows of equal width, without the outliers among them.
///
/// Outliers are looked for twice: against the robust spread of each column, which half the rows cannot
/// move, and against the covariance of what that leaves, which knows the correlations. A search for
/// the tightest part of the rows would be more thorough, but with the ten or twenty rows that
/// are usual here it finds a part far tighter than the whole. With few rows the correlations are
/// drawn towards zero, by the share width / (width + rows). `floors` are the least standard
/// deviations, one per column.
pub fn trimmed_scatter(rows: &[Vec<f64>], floors: &[f64]) -> TrimmedScatter {
    let spread = |column: usize| {
        let sizes: Vec<f64> = rows.iter().map(|row| row[column].abs()).collect();
        (1.4826 * median(&sizes)).max(floors[column])
    };
    let start: Vec<f64> = (0..floors.len()).map(|column| spread(column).powi(2)).collect();
    let limit = chi_square_quantile(GOOD_PROBABILITY, floors.len());
    let is_good = |covariance: &SquareMatrix| -> Vec<bool> {
        squared_distances(rows, covariance).iter().map(|&distance| distance <= limit).collect()
    };
    let first = scatter(rows, &is_good(&SquareMatrix::diagonal(&start)), floors);
    let good = is_good(&first);
    TrimmedScatter { covariance: scatter(rows, &good, floors), good }
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

fn squared_distances(rows: &[Vec<f64>], covariance: &SquareMatrix) -> Vec<f64> {
    // The floor on the diagonal keeps this positive definite; should it fail, no row is near.
    let Ok(factor) = Cholesky::factor(covariance) else { return vec![f64::INFINITY; rows.len()] };
    rows.iter().map(|row| factor.squared_distance(row).unwrap_or(f64::INFINITY)).collect()
}

/// Covariance about zero of the rows kept, shrunk towards its diagonal and held above the floor.
fn scatter(rows: &[Vec<f64>], kept: &[bool], floors: &[f64]) -> SquareMatrix {
    let width = floors.len();
    let mut sum = SquareMatrix::zeros(width);
    let mut count = 0.0;
    for (row, _) in rows.iter().zip(kept).filter(|(_, kept)| **kept) {
        sum.add_outer(row, 1.0);
        count += 1.0;
    }
    let factor = truncation_correction(GOOD_PROBABILITY, width) / f64::max(count, 1.0);
    let shrink = width as f64 / (width as f64 + count);
    SquareMatrix::from_fn(width, |row, column| {
        let entry = sum.get(row, column) * factor;
        if row == column { entry.max(floors[row].powi(2)) } else { entry * (1.0 - shrink) }
    })
}

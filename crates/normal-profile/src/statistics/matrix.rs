//! Square matrices and the Cholesky factorisation that everything Gaussian rests on.

use serde::{Deserialize, Serialize};

/// Why a matrix could not be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LinearError {
    /// A covariance that is not positive definite: two columns are the same, one never moves, or
    /// a value is not a number.
    #[error("the matrix is not positive definite: its pivot {pivot} is {value:e}")]
    NotPositiveDefinite {
        /// Row of the pivot, from 0.
        pivot: usize,
        /// The value found there.
        value: f64,
    },
    /// Rows, columns or a vector of another length than the matrix.
    #[error("expected {expected} values, found {found}")]
    SizeMismatch {
        /// The size of the matrix.
        expected: usize,
        /// The size that was given.
        found: usize,
    },
}

/// A dense square matrix, row by row.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Vec<Vec<f64>>", into = "Vec<Vec<f64>>")]
pub struct SquareMatrix {
    size: usize,
    values: Vec<f64>,
}

impl SquareMatrix {
    /// A matrix of zeros.
    pub fn zeros(size: usize) -> Self {
        Self { size, values: vec![0.0; size * size] }
    }

    /// A matrix with these values on its diagonal and zeros elsewhere.
    pub fn diagonal(values: &[f64]) -> Self {
        Self::from_fn(values.len(), |row, column| if row == column { values[row] } else { 0.0 })
    }

    /// A matrix whose entry at (row, column) is `entry(row, column)`.
    pub fn from_fn(size: usize, entry: impl Fn(usize, usize) -> f64) -> Self {
        let values = (0..size * size).map(|at| entry(at / size, at % size)).collect();
        Self { size, values }
    }

    /// Number of rows, which is the number of columns.
    pub fn size(&self) -> usize {
        self.size
    }

    /// The entry at (row, column); both must be below [`SquareMatrix::size`].
    pub fn get(&self, row: usize, column: usize) -> f64 {
        self.values[row * self.size + column]
    }

    /// Sets the entry at (row, column).
    pub fn set(&mut self, row: usize, column: usize, value: f64) {
        self.values[row * self.size + column] = value;
    }

    /// The sum of two matrices of one size.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        Self::from_fn(self.size(), |row, column| self.get(row, column) + other.get(row, column))
    }

    /// Adds to the entry at (row, column).
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        self.values[row * self.size + column] += value;
    }

    /// One row.
    pub fn row(&self, row: usize) -> &[f64] {
        &self.values[row * self.size..(row + 1) * self.size]
    }

    /// Every entry times a number.
    pub fn scaled(&self, factor: f64) -> Self {
        Self { size: self.size, values: self.values.iter().map(|value| value * factor).collect() }
    }

    /// The rows and columns named, in that order: the covariance of some of the quantities.
    pub fn select(&self, indices: &[usize]) -> Self {
        Self::from_fn(indices.len(), |row, column| self.get(indices[row], indices[column]))
    }

    /// Adds `vector · vectorᵀ · weight`.
    pub fn add_outer(&mut self, vector: &[f64], weight: f64) {
        for (row, &left) in vector.iter().enumerate() {
            let entries = &mut self.values[row * self.size..(row + 1) * self.size];
            for (entry, &right) in entries.iter_mut().zip(vector) {
                *entry += weight * left * right;
            }
        }
    }

    /// Square roots of the diagonal of a covariance.
    pub fn standard_deviations(&self) -> Vec<f64> {
        (0..self.size).map(|at| self.get(at, at).max(0.0).sqrt()).collect()
    }
}

impl TryFrom<Vec<Vec<f64>>> for SquareMatrix {
    type Error = LinearError;

    fn try_from(rows: Vec<Vec<f64>>) -> Result<Self, LinearError> {
        let size = rows.len();
        if let Some(row) = rows.iter().find(|row| row.len() != size) {
            return Err(LinearError::SizeMismatch { expected: size, found: row.len() });
        }
        Ok(Self { size, values: rows.concat() })
    }
}

impl From<SquareMatrix> for Vec<Vec<f64>> {
    fn from(matrix: SquareMatrix) -> Self {
        (0..matrix.size).map(|row| matrix.row(row).to_vec()).collect()
    }
}

/// The lower triangle `L` with `L Lᵀ` = a positive definite matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct Cholesky {
    lower: SquareMatrix,
}

impl Cholesky {
    /// Factors a symmetric matrix, of which only the lower triangle is read.
    pub fn factor(matrix: &SquareMatrix) -> Result<Self, LinearError> {
        let size = matrix.size();
        let mut lower = SquareMatrix::zeros(size);
        for row in 0..size {
            for column in 0..=row {
                let known: f64 = (0..column).map(|at| lower.get(row, at) * lower.get(column, at)).sum();
                let rest = matrix.get(row, column) - known;
                if row == column {
                    // A negated comparison, so that NaN is refused too.
                    if !(rest > 0.0 && rest.is_finite()) {
                        return Err(LinearError::NotPositiveDefinite { pivot: row, value: rest });
                    }
                    lower.set(row, row, rest.sqrt());
                } else {
                    lower.set(row, column, rest / lower.get(column, column));
                }
            }
        }
        Ok(Self { lower })
    }

    /// Natural logarithm of the determinant of the factored matrix.
    pub fn log_determinant(&self) -> f64 {
        2.0 * (0..self.lower.size()).map(|at| self.lower.get(at, at).ln()).sum::<f64>()
    }

    /// `vᵀ A⁻¹ v`: the squared Mahalanobis distance of a difference `v` under covariance `A`.
    pub fn squared_distance(&self, difference: &[f64]) -> Result<f64, LinearError> {
        Ok(self.forward(difference)?.iter().map(|value| value * value).sum())
    }

    /// `A⁻¹ v`.
    pub fn solve(&self, right_side: &[f64]) -> Result<Vec<f64>, LinearError> {
        let mut solution = self.forward(right_side)?;
        for row in (0..solution.len()).rev() {
            let known: f64 = (row + 1..solution.len()).map(|at| self.lower.get(at, row) * solution[at]).sum();
            solution[row] = (solution[row] - known) / self.lower.get(row, row);
        }
        Ok(solution)
    }

    /// `A⁻¹`.
    pub fn inverse(&self) -> SquareMatrix {
        let size = self.lower.size();
        let mut inverse = SquareMatrix::zeros(size);
        for column in 0..size {
            let unit: Vec<f64> = (0..size).map(|row| f64::from(u8::from(row == column))).collect();
            // A unit vector has the matrix's own length, so this always solves.
            for (row, value) in self.solve(&unit).into_iter().flatten().enumerate() {
                inverse.set(row, column, value);
            }
        }
        inverse
    }

    /// `L⁻¹ v`, by forward substitution.
    fn forward(&self, right_side: &[f64]) -> Result<Vec<f64>, LinearError> {
        let size = self.lower.size();
        if right_side.len() != size {
            return Err(LinearError::SizeMismatch { expected: size, found: right_side.len() });
        }
        let mut solution: Vec<f64> = Vec::with_capacity(size);
        for (row, &right) in right_side.iter().enumerate() {
            let entries = self.lower.row(row);
            let known: f64 = entries.iter().zip(&solution).map(|(entry, value)| entry * value).sum();
            solution.push((right - known) / entries[row]);
        }
        Ok(solution)
    }
}

/// Squared Mahalanobis distance of a difference under a covariance: a chi-square value with as many
/// degrees of freedom as the difference has entries, if the difference is normal.
pub fn mahalanobis_squared(difference: &[f64], covariance: &SquareMatrix) -> Result<f64, LinearError> {
    Cholesky::factor(covariance)?.squared_distance(difference)
}

//! Ordinary least squares with a constant, by Householder reflections of centred and scaled columns.
//!
//! Centring takes the constant out of the matrix and scaling evens out its columns: that is what keeps eleven digits
//! of the Longley data, where the normal equations keep none.

/// A column that follows from the others, or never moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("column {column} follows from the others")]
pub struct Dependent {
    /// Which column, from 0.
    pub column: usize,
}

/// Below this share of its length a column has nothing of its own.
const LEAST_OWN: f64 = 1e-10;

/// A fitted line or plane: `y = constant + Σ coefficient · x`.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastSquares {
    /// Value at the origin.
    pub constant: f64,
    /// Standard error of the constant.
    pub constant_error: f64,
    /// One for each column.
    pub coefficients: Vec<f64>,
    /// Their standard errors.
    pub errors: Vec<f64>,
    /// Standard deviation of the residuals, with n − p degrees of freedom, p counting the constant.
    pub residual_sd: f64,
    /// Share of the variation of `y` that is explained.
    pub r2: f64,
    /// How many points.
    pub points: usize,
    means: Vec<f64>,
    /// Inverse of (centred X)ᵀ(centred X).
    inverse: Vec<Vec<f64>>,
}

impl LeastSquares {
    /// Fits `y` by the columns, each as long as `y`, with a constant.
    ///
    /// # Errors
    /// The first column that follows from the ones before it. Fewer points than unknowns plus one, or columns of
    /// another length, count as that.
    pub fn fit(columns: &[Vec<f64>], y: &[f64]) -> Result<Self, Dependent> {
        let (points, width) = (y.len(), columns.len());
        if points <= width + 1 || columns.iter().any(|column| column.len() != points) {
            return Err(Dependent { column: width.saturating_sub(1) });
        }
        let centre = |column: &[f64]| {
            let mean = column.iter().sum::<f64>() / points as f64;
            let centred: Vec<f64> = column.iter().map(|value| value - mean).collect();
            (mean, centred)
        };
        let (y_mean, centred_y) = centre(y);
        let (means, mut matrix): (Vec<f64>, Vec<Vec<f64>>) = columns.iter().map(|column| centre(column)).unzip();
        let scales: Vec<f64> = matrix.iter().map(|column| norm(column)).collect();
        for (index, (column, scale)) in matrix.iter_mut().zip(&scales).enumerate() {
            let largest = columns[index].iter().fold(0.0_f64, |most, value| most.max(value.abs()));
            if *scale <= LEAST_OWN * largest * (points as f64).sqrt() {
                return Err(Dependent { column: index });
            }
            column.iter_mut().for_each(|value| *value /= scale);
        }
        let mut turned = centred_y.clone();
        let triangle = triangle(&mut matrix, &mut turned)?;
        let scaled = back_substitute(&triangle, &turned[..width]);
        let coefficients: Vec<f64> = scaled.iter().zip(&scales).map(|(value, scale)| value / scale).collect();
        let left: f64 = turned[width..].iter().map(|value| value * value).sum();
        let residual_sd = (left / (points - width - 1) as f64).sqrt();
        let inverse = inverse(&triangle, &scales);
        let quadratic = quadratic_form(&inverse, &means);
        Ok(Self {
            constant: y_mean - dot(&coefficients, &means),
            constant_error: residual_sd * (1.0 / points as f64 + quadratic).sqrt(),
            errors: (0..width).map(|column| residual_sd * inverse[column][column].sqrt()).collect(),
            r2: 1.0 - left / centred_y.iter().map(|value| value * value).sum::<f64>(),
            coefficients,
            residual_sd,
            points,
            means,
            inverse,
        })
    }

    /// The value at a point.
    #[must_use]
    pub fn at(&self, x: &[f64]) -> f64 {
        self.constant + dot(&self.coefficients, x)
    }

    /// Standard error of the difference between what is observed at these points together and what is expected there:
    /// the scatter of the points themselves and the doubt about the line.
    #[must_use]
    pub fn error_of_sum<'a>(&self, at: impl IntoIterator<Item = &'a [f64]>) -> f64 {
        let mut count = 0.0;
        let mut beyond = vec![0.0; self.means.len()];
        for x in at {
            count += 1.0;
            for ((sum, value), mean) in beyond.iter_mut().zip(x).zip(&self.means) {
                *sum += value - mean;
            }
        }
        let line = count * count / self.points as f64 + quadratic_form(&self.inverse, &beyond);
        self.residual_sd * (count + line).sqrt()
    }
}

/// Turns the matrix (by columns) into an upper triangle, and the right side with it.
fn triangle(matrix: &mut [Vec<f64>], right: &mut [f64]) -> Result<Vec<Vec<f64>>, Dependent> {
    let width = matrix.len();
    for pivot in 0..width {
        let (done, rest) = matrix.split_at_mut(pivot + 1);
        let column = &mut done[pivot];
        let length = norm(&column[pivot..]);
        if length < LEAST_OWN {
            return Err(Dependent { column: pivot });
        }
        let head = if column[pivot] > 0.0 { -length } else { length };
        let mut mirror = column[pivot..].to_vec();
        mirror[0] -= head;
        let square = dot(&mirror, &mirror);
        column[pivot] = head;
        for other in rest.iter_mut().map(Vec::as_mut_slice).chain(std::iter::once(&mut *right)) {
            let by = 2.0 * dot(&mirror, &other[pivot..]) / square;
            other[pivot..].iter_mut().zip(&mirror).for_each(|(value, mirror)| *value -= by * mirror);
        }
    }
    Ok((0..width).map(|row| (0..width).map(|column| matrix[column][row]).collect()).collect())
}

fn back_substitute(triangle: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let mut solution = vec![0.0; right.len()];
    for row in (0..right.len()).rev() {
        let known: f64 = (row + 1..right.len()).map(|column| triangle[row][column] * solution[column]).sum();
        solution[row] = (right[row] - known) / triangle[row][row];
    }
    solution
}

/// (XᵀX)⁻¹ of the unscaled columns, from the triangle of the scaled ones.
fn inverse(triangle: &[Vec<f64>], scales: &[f64]) -> Vec<Vec<f64>> {
    let width = scales.len();
    let unit = |at: usize| (0..width).map(|row| f64::from(u8::from(row == at))).collect::<Vec<f64>>();
    // Column by column R⁻¹; its rows times each other give the inverse.
    let columns: Vec<Vec<f64>> = (0..width).map(|at| back_substitute(triangle, &unit(at))).collect();
    let entry = |a: usize, b: usize| columns.iter().map(|column| column[a] * column[b]).sum::<f64>();
    (0..width).map(|a| (0..width).map(|b| entry(a, b) / scales[a] / scales[b]).collect()).collect()
}

fn quadratic_form(matrix: &[Vec<f64>], vector: &[f64]) -> f64 {
    matrix.iter().zip(vector).map(|(row, value)| value * dot(row, vector)).sum()
}

fn norm(vector: &[f64]) -> f64 {
    dot(vector, vector).sqrt()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_plane_without_scatter_is_found_exactly() {
        let x: Vec<f64> = (0..12).map(f64::from).collect();
        let z: Vec<f64> = (0..12).map(|at| f64::from((at * 7) % 5)).collect();
        let y: Vec<f64> = x.iter().zip(&z).map(|(x, z)| 3.0 + 2.0 * x - 0.5 * z).collect();
        let fit = LeastSquares::fit(&[x, z], &y).unwrap();
        assert!((fit.constant - 3.0).abs() < 1e-12);
        assert!((fit.coefficients[0] - 2.0).abs() < 1e-13 && (fit.coefficients[1] + 0.5).abs() < 1e-13);
        assert!(fit.residual_sd < 1e-12 && (fit.r2 - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_column_that_follows_from_others_or_never_moves_is_named() {
        let x: Vec<f64> = (0..10).map(f64::from).collect();
        let twice: Vec<f64> = x.iter().map(|x| 2.0 * x + 1.0).collect();
        let y = x.clone();
        assert_eq!(LeastSquares::fit(&[x.clone(), twice], &y), Err(Dependent { column: 1 }));
        assert_eq!(LeastSquares::fit(&[x.clone(), vec![5.0; 10]], &y), Err(Dependent { column: 1 }));
        assert!(LeastSquares::fit(&[x[..2].to_vec()], &y[..2]).is_err(), "as many points as unknowns");
    }

    #[test]
    fn the_error_of_a_sum_grows_away_from_the_points() {
        let x: Vec<f64> = (0..20).map(f64::from).collect();
        let y: Vec<f64> = x.iter().map(|x| x + if (*x as u32).is_multiple_of(2) { 1.0 } else { -1.0 }).collect();
        let fit = LeastSquares::fit(&[x], &y).unwrap();
        let near = fit.error_of_sum([[9.5].as_slice()]);
        // Textbook: s √(1 + 1/n) at the mean of x.
        assert!((near - fit.residual_sd * (1.0 + 1.0 / 20.0_f64).sqrt()).abs() < 1e-12);
        assert!(fit.error_of_sum([[60.0].as_slice()]) > 1.5 * near);
    }
}

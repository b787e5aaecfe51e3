//! Small dense linear algebra, the chi-square distribution and robust statistics.
//!
//! Written here because the learned matrices are at most 17 × 17 and must give the same bits
//! wherever they are read: no linear-algebra backend is worth its dependency at that size.

mod chi_square;
mod cusum;
mod matrix;
pub(crate) mod robust;

pub use chi_square::{chi_square_quantile, chi_square_tail, normal_score};
pub use cusum::Cusum;
pub use matrix::{Cholesky, LinearError, SquareMatrix, mahalanobis_squared};
pub use robust::{TrimmedScatter, median, quantile, robust_spread, trimmed_scatter};

//! The statistics against outside values.

use normal_profile::statistics::{
    Cholesky, LinearError, SquareMatrix, mahalanobis_squared, median, quantile, robust_spread, trimmed_scatter,
};

const HOTELLING: &str = include_str!("../data/hotelling.csv");
const IRIS: &str = include_str!("../data/iris.csv");

/// Squared distances of a set in `hotelling.csv`, in order.
fn reference(set: &str) -> Vec<f64> {
    let rows = HOTELLING.lines().filter_map(|line| line.strip_prefix(set)?.strip_prefix(','));
    rows.map(|row| row.split(',').nth(1).unwrap().parse().unwrap()).collect()
}

fn assert_distances(rows: &[Vec<f64>], mean: &[f64], covariance: &SquareMatrix, set: &str) {
    let expected = reference(set);
    assert_eq!(rows.len(), expected.len(), "{set}");
    for (row, expected) in rows.iter().zip(expected) {
        let difference: Vec<f64> = row.iter().zip(mean).map(|(value, mean)| value - mean).collect();
        let found = mahalanobis_squared(&difference, covariance).unwrap();
        assert!((found / expected - 1.0).abs() < 1e-8, "{set}: {found}, expected {expected}");
    }
}

/// NIST/SEMATECH e-Handbook of Statistical Methods, section 6.5.4.1: the five observations, mean and
/// covariance printed there; distances in `hotelling.csv` by numpy.
#[test]
fn distances_equal_those_of_the_nist_example() {
    let rows = [[4.0, 2.0, 0.60], [4.2, 2.1, 0.59], [3.9, 2.0, 0.58], [4.3, 2.1, 0.62], [4.1, 2.2, 0.63]];
    let rows: Vec<Vec<f64>> = rows.iter().map(|row| row.to_vec()).collect();
    let covariance = vec![vec![0.025, 0.0075, 0.00175], vec![0.0075, 0.0070, 0.00135], vec![0.00175, 0.00135, 0.00043]];
    assert_distances(&rows, &[4.10, 2.08, 0.604], &SquareMatrix::try_from(covariance).unwrap(), "nist5");
}

/// Hotelling's T² of iris setosa among themselves, and of ten versicolor against setosa.
#[test]
fn distances_equal_those_of_iris() {
    let flowers: Vec<Vec<f64>> = IRIS
        .lines()
        .filter(|line| line.starts_with(|first: char| first.is_ascii_digit()))
        .map(|line| line.split(',').take(4).map(|value| value.parse().unwrap()).collect())
        .collect();
    let setosa = &flowers[..50];
    let mean: Vec<f64> = (0..4).map(|column| setosa.iter().map(|row| row[column]).sum::<f64>() / 50.0).collect();
    let mut covariance = SquareMatrix::zeros(4);
    for row in setosa {
        let difference: Vec<f64> = row.iter().zip(&mean).map(|(value, mean)| value - mean).collect();
        covariance.add_outer(&difference, 1.0 / 49.0);
    }
    assert_distances(setosa, &mean, &covariance, "setosa");
    assert_distances(&flowers[50..60], &mean, &covariance, "versicolor10");
}

/// The Hilbert matrix of order 4: its inverse has the integer entries printed in textbooks (16, −120,
/// 240, −140 …), its determinant is 1/6 048 000.
#[test]
fn the_hilbert_matrix_inverts_to_integers() {
    let hilbert = SquareMatrix::from_fn(4, |row, column| 1.0 / (row + column + 1) as f64);
    let factor = Cholesky::factor(&hilbert).unwrap();
    assert!((factor.log_determinant() - (1.0 / 6_048_000.0f64).ln()).abs() < 1e-10);
    let inverse = factor.inverse();
    let expected = [
        [16.0, -120.0, 240.0, -140.0],
        [-120.0, 1200.0, -2700.0, 1680.0],
        [240.0, -2700.0, 6480.0, -4200.0],
        [-140.0, 1680.0, -4200.0, 2800.0],
    ];
    for (row, expected) in expected.iter().enumerate() {
        for (column, expected) in expected.iter().enumerate() {
            assert!(
                (inverse.get(row, column) - expected).abs() < 1e-7,
                "({row}, {column}): {}",
                inverse.get(row, column)
            );
        }
    }
}

#[test]
fn what_cannot_be_factored_says_why() {
    let twice_the_same = SquareMatrix::from_fn(3, |row, column| if row == 2 || column == 2 { 0.5 } else { 1.0 });
    assert!(matches!(Cholesky::factor(&twice_the_same), Err(LinearError::NotPositiveDefinite { pivot: 1, .. })));
    let no_number = SquareMatrix::diagonal(&[1.0, f64::NAN]);
    assert!(matches!(Cholesky::factor(&no_number), Err(LinearError::NotPositiveDefinite { pivot: 1, .. })));
    let unit = SquareMatrix::diagonal(&[1.0, 1.0]);
    assert_eq!(mahalanobis_squared(&[1.0], &unit), Err(LinearError::SizeMismatch { expected: 2, found: 1 }));
    assert!(SquareMatrix::try_from(vec![vec![1.0, 2.0], vec![3.0]]).is_err());
}

/// Brownlee's stack loss data (1965), air flow: median 58; the distances from it in order are 0 (7
/// times: 58 six times, and then 2 …), so that the 11th of 21 is 4.
#[test]
fn quantiles_of_the_stack_loss_air_flow() {
    let air_flow =
        [80., 80., 75., 62., 62., 62., 62., 62., 58., 58., 58., 58., 58., 58., 50., 50., 50., 50., 50., 56., 70.];
    assert_eq!(median(&air_flow), 58.0);
    assert_eq!(quantile(&air_flow, 0.25), 56.0);
    assert_eq!(quantile(&air_flow, 0.75), 62.0);
    assert_eq!(robust_spread(&air_flow), 1.4826 * 4.0);
    assert_eq!(quantile(&[1.0, 2.0], 0.25), 1.25);
    assert!(median(&[]).is_nan());
}

/// Rows on an even grid of directions with normal radii, a tenth of them thrown far out.
#[test]
fn outliers_do_not_widen_the_trimmed_scatter() {
    let clean: Vec<Vec<f64>> = (0..400)
        .map(|at| {
            // Quantiles of the Rayleigh distribution, in golden-angle directions: a normal cloud without chance.
            let radius = (-2.0 * (1.0 - (f64::from(at) + 0.5) / 400.0).ln()).sqrt();
            let angle = 2.399_963 * f64::from(at);
            let (x, y) = (radius * angle.cos(), radius * angle.sin());
            vec![x, 0.8 * x + 0.6 * y]
        })
        .collect();
    let mut dirty = clean.clone();
    dirty.iter_mut().step_by(10).for_each(|row| *row = vec![8.0, -8.0]);
    let found = trimmed_scatter(&dirty, &[0.01, 0.01]);
    assert!(found.good.iter().step_by(10).all(|good| !good));
    for (row, column, truth) in [(0, 0, 1.0), (1, 1, 1.0), (0, 1, 0.8)] {
        let entry = found.covariance.get(row, column);
        assert!((entry - truth).abs() < 0.08, "({row}, {column}) is {entry}, the truth {truth}");
    }
    let least = trimmed_scatter(&[vec![0.0], vec![0.0]], &[0.3]);
    assert!((least.covariance.get(0, 0) - 0.09).abs() < 1e-12);
}

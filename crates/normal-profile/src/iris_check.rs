//! The fit that `learn` uses, held against published fits of Fisher's iris data.
//!
//! Source: `tests/data/gmm_iris.csv`, computed with scikit-learn 1.9.1 (`GaussianMixture`, full
//! covariance, tolerance and covariance floor 1e-12), the values of BIC for k = 1 to 3 being those
//! that the documentation of R's mclust prints. From three components on the likelihood has no
//! upper bound; the reference keeps fits whose components all hold five flowers and have no
//! covariance eigenvalue below 1e-3, which here the least share of a component sees to.

use crate::LearnSettings;
use crate::trim::{Rows, best_fit};

const IRIS: &str = include_str!("../tests/data/iris.csv");
const REFERENCE: &str = include_str!("../tests/data/gmm_iris.csv");

fn flowers() -> Vec<Vec<f64>> {
    let lines = IRIS.lines().filter(|line| line.starts_with(|first: char| first.is_ascii_digit()));
    lines.map(|line| line.split(',').take(4).map(|value| value.parse().unwrap()).collect()).collect()
}

/// `(log likelihood, BIC)` of the best full-covariance fit with this many components.
fn reference(components: usize) -> (f64, f64) {
    let prefix = format!("full,VVV,{components},");
    let line = REFERENCE.lines().find_map(|line| line.strip_prefix(&prefix)).unwrap();
    let fields: Vec<f64> = line.split(',').take(2).map(|value| value.parse().unwrap()).collect();
    (fields[0], fields[1])
}

#[test]
fn likelihood_and_bic_equal_the_published_ones() {
    let flowers = flowers();
    assert_eq!(flowers.len(), 150);
    // Every species in either run: the rule of two runs is not what is tested here.
    let runs: Vec<u32> = (0..150).map(|flower| flower % 2).collect();
    let rows = Rows { values: &flowers, runs: &runs, independence: 1.0 };
    let settings =
        LearnSettings { trim_share: 0.0, covariance_floor: 1e-9, tolerance: 1e-8, ..LearnSettings::default() };
    for components in 1..=3 {
        let fit = best_fit(&rows, components, &settings).unwrap();
        let bic = fit.bic(1.0);
        let (published, published_bic) = reference(components);
        assert!((fit.log_likelihood - published).abs() < 0.01, "k = {components}: {}", fit.log_likelihood);
        assert!((bic - published_bic).abs() < 0.01, "k = {components}: BIC {bic}");
    }
}

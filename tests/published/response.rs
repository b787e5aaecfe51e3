//! `bjsales.csv`: a published fit of a lagged response.

use crate::table::Table;
use normal_profile::{LaggedResponse, Stretch, lagged_response};

/// Sales and their leading indicator.
fn sales() -> Stretch {
    let table = Table::parse(include_str!("bjsales.csv"));
    let (input, output) = table.rows().map(|row| (row.number("indicator"), row.number("sales"))).unzip();
    Stretch { input, output }
}

/// Box and Jenkins (1976), series M, fitted to the differences: delay 3, weight 4.82, decay 0.72, so that the
/// gain is 4.82 / (1 − 0.72) = 17.2 (the fit as printed there, from memory).
#[test]
fn the_leading_indicator_of_sales_leads_by_three() {
    let LaggedResponse { delay, decay, gain, gain_error, .. } = lagged_response(&[sales()], 10).unwrap();
    assert_eq!(delay, 3);
    assert!((decay - 0.72).abs() < 0.03, "decay {decay}");
    assert!((gain / 17.2 - 1.0).abs() < 0.1, "gain {gain}");
    assert!((0.0..0.5).contains(&gain_error), "standard error {gain_error}");
}

/// Why the series are differenced: as they stand, they are correlated most at no delay at all.
#[test]
fn raw_cross_correlation_would_not_find_the_delay() {
    let Stretch { input, output } = sales();
    let about_mean = |values: &[f64]| -> Vec<f64> {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        values.iter().map(|value| value - mean).collect()
    };
    let (input, output) = (about_mean(&input), about_mean(&output));
    let correlation = |delay: usize| input.iter().zip(&output[delay..]).map(|(x, y)| x * y).sum::<f64>();
    let highest = (0..=10).max_by(|&left, &right| correlation(left).total_cmp(&correlation(right)));
    assert_eq!(highest, Some(0));
}

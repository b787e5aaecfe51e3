//! The regression behind the energy baseline against certified values of the NIST Statistical Reference Datasets:
//! Norris (a line) and Longley (six variables that nearly follow from each other).

use balance::energy::LeastSquares;

use crate::table::{Column, Table};

/// The response and the other columns of a data set, in their order.
fn data(text: &'static str, response: &str, variables: &[&str]) -> (Vec<f64>, Vec<Vec<f64>>) {
    let table = Table::parse(text);
    let column = |name: &str| table.rows().map(|row| row.number(name)).collect::<Vec<f64>>();
    (column(response), variables.iter().map(|name| column(name)).collect())
}

#[test]
fn norris_and_longley_have_their_certified_values() {
    let (y, x) = data(include_str!("norris.csv"), "y", &["x"]);
    let norris = LeastSquares::fit(&x, &y).unwrap();
    let variables = ["GNPDEFL", "GNP", "UNEMP", "ARMED", "POP", "YEAR"];
    let (y, x) = data(include_str!("longley.csv"), "TOTEMP", &variables);
    let longley = LeastSquares::fit(&x, &y).unwrap();
    let mut certified = Column::within("certified", 1e-10);
    for row in Table::parse(include_str!("nist_strd_linear.csv")).rows() {
        let fit = if row.text("dataset") == "Norris" { &norris } else { &longley };
        let found = match row.text("quantity") {
            "b0" => fit.constant,
            "sd_b0" => fit.constant_error,
            "sd_b1" => fit.errors[0],
            "residual_sd" => fit.residual_sd,
            "r2" => fit.r2,
            slope => fit.coefficients[slope.trim_start_matches('b').parse::<usize>().unwrap() - 1],
        };
        certified.check(&row, found);
    }
}

//! Fits an energy baseline to rows of standard input and prints it with the saving after it: what
//! `tests/published/crosscheck_energy.py` compares with an independent fit.
//!
//! A row is `before,ENERGY,X` or `after,ENERGY,X`, in order of time. The answer is one line:
//! `constant,slope,r2,cv_rmse,saving share,half-width of its 95 % interval as a share`.
#![allow(clippy::print_stdout)]

use std::error::Error;
use std::io::{self, BufRead};

use balance::energy::{Baseline, BaselinePoint, Variable, saving};
use reading::Timestamp;

fn main() -> Result<(), Box<dyn Error>> {
    let (mut before, mut after) = (Vec::new(), Vec::new());
    for (number, line) in io::stdin().lock().lines().enumerate() {
        let line = line?;
        let cells: Vec<&str> = line.split(',').collect();
        let [when, energy, x] = cells.as_slice() else { return Err(format!("{line:?} has not three cells").into()) };
        let starts = Timestamp(i64::try_from(number)?);
        let point = BaselinePoint { starts, energy_kwh: energy.parse()?, values: vec![x.parse()?] };
        match *when {
            "before" => before.push(point),
            "after" => after.push(point),
            other => return Err(format!("{other:?} is neither before nor after").into()),
        }
    }
    let variable = Variable { name: "x".into(), unit: String::new() };
    let baseline = Baseline::fit(&[variable], &before).map_err(|why| why.to_string())?;
    let saved = saving(&baseline, &after);
    let (fit, quality) = (&baseline.fit, baseline.quality);
    println!(
        "{},{},{},{},{},{}",
        fit.constant,
        fit.coefficients[0],
        quality.r2,
        quality.cv_rmse,
        saved.share(),
        saved.uncertainty_kwh / saved.expected_kwh
    );
    Ok(())
}

//! Robust scaling: every quantity from its median, in units of its usual spread.

use serde::{Deserialize, Serialize};

use crate::observation::{Columns, Quantity};
use crate::statistics::{median, robust_spread};

/// Least spread of ln humidity: 1 %, about what a dew-point sensor can tell.
const LEAST_LN_HUMIDITY: f64 = 0.01;
/// Least spread of an air temperature, °C.
const LEAST_TEMPERATURE: f64 = 0.5;
/// Least spread of ln speed: 1 %, so that a line that nearly always runs at one speed does not
/// make its other speeds look infinitely far away.
const LEAST_LN_SPEED: f64 = 0.01;

/// Centre and spread of each column of the learned vector.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scaling {
    /// Medians.
    pub centre: Vec<f64>,
    /// Median distances from the median times 1.4826, held above a floor.
    pub spread: Vec<f64>,
}

impl Scaling {
    /// The scaling of these rows.
    pub(crate) fn of(rows: &[&[f64]], columns: &Columns) -> Self {
        let floors = columns.quantities().map(|quantity| match quantity {
            Quantity::LnHumidity(_) => LEAST_LN_HUMIDITY,
            Quantity::Temperature(_) => LEAST_TEMPERATURE,
        });
        let (centre, spread) = floors
            .chain([LEAST_LN_SPEED])
            .enumerate()
            .map(|(column, floor)| {
                let values: Vec<f64> = rows.iter().map(|row| row[column]).collect();
                (median(&values), robust_spread(&values).max(floor))
            })
            .unzip();
        Self { centre, spread }
    }

    /// A row in scaled units.
    pub(crate) fn scale(&self, row: &[f64]) -> Vec<f64> {
        let centred = row.iter().zip(&self.centre).map(|(value, centre)| value - centre);
        centred.zip(&self.spread).map(|(value, spread)| value / spread).collect()
    }
}

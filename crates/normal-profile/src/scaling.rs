//! Robust scaling: every quantity from its median, in units of its usual spread.

use serde::{Deserialize, Serialize};

use crate::observation::{Columns, Quantity};
use crate::statistics::{median, robust_spread};

/// Least spread of ln humidity: 1 %, about what a dew-point sensor can tell.
const LEAST_LN_HUMIDITY: f64 = 0.01;
/// Least spread of an air temperature, °C.
const LEAST_TEMPERATURE: f64 = 0.5;
/// Speeds this far apart in ln speed (8 %) are not yet different ways of running. A band is set to
/// a few speeds and keeps them to a tenth of a percent; without this, each setting would become a
/// component of its own, as tight as it is meaningless.
pub(crate) const LN_SPEED_SMOOTHING: f64 = 0.08;

/// Centre and spread of each column of the learned vector.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scaling {
    /// Medians.
    pub centre: Vec<f64>,
    /// Median distances from the median times 1.4826, held above a floor. For ln speed, the unit in
    /// which the covariance floor amounts to the smoothing of speed.
    pub spread: Vec<f64>,
}

impl Scaling {
    /// The scaling of these rows.
    pub(crate) fn of(rows: &[&[f64]], columns: &Columns, covariance_floor: f64) -> Self {
        let column = |column: usize| -> Vec<f64> { rows.iter().map(|row| row[column]).collect() };
        let floors = columns.quantities().map(|quantity| match quantity {
            Quantity::LnHumidity(_) => LEAST_LN_HUMIDITY,
            Quantity::Temperature(_) => LEAST_TEMPERATURE,
        });
        let (mut centre, mut spread): (Vec<f64>, Vec<f64>) = floors
            .enumerate()
            .map(|(index, floor)| (median(&column(index)), robust_spread(&column(index)).max(floor)))
            .unzip();
        centre.push(median(&column(columns.width() - 1)));
        spread.push(LN_SPEED_SMOOTHING / covariance_floor.sqrt());
        Self { centre, spread }
    }

    /// A row in scaled units.
    pub(crate) fn scale(&self, row: &[f64]) -> Vec<f64> {
        let centred = row.iter().zip(&self.centre).map(|(value, centre)| value - centre);
        centred.zip(&self.spread).map(|(value, spread)| value / spread).collect()
    }
}

//! Measurements summarised by product, zone and measure. The only place that knows polars.

use std::collections::HashMap;

use polars::prelude::{ChunkAgg, ChunkQuantile, Float64Chunked, PolarsResult, QuantileMethod};

use crate::error::ShiftProfileError;
use crate::measurement::{Key, Measure, Measured};

/// What the measurements of one product, zone and measure come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Summary {
    pub(crate) mean: f64,
    pub(crate) max: f64,
    /// Of a measure whose spread is shown.
    pub(crate) spread: Option<Spread>,
    pub(crate) readings: u64,
    /// How many windows have at least one of the readings.
    pub(crate) windows: u64,
}

/// Quantiles: 5, 50 and 95 % lie below.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Spread {
    pub(crate) p05: f64,
    pub(crate) p50: f64,
    pub(crate) p95: f64,
}

/// The summaries of a shift.
#[derive(Debug, Default)]
pub(crate) struct Summaries(HashMap<Key, Summary>);

impl Summaries {
    pub(crate) fn of(measurements: HashMap<Key, Measured>) -> Result<Self, ShiftProfileError> {
        let summaries = measurements.into_iter().map(|(key, measured)| Ok((key, summary(key.2, measured)?)));
        let summaries: PolarsResult<HashMap<_, _>> = summaries.collect();
        summaries.map(Self).map_err(|error| ShiftProfileError::Summary(error.into()))
    }

    /// The summary of one measure in one zone (0 for the whole line), if there was any measurement.
    pub(crate) fn get(&self, product: usize, zone: usize, measure: Measure) -> Option<&Summary> {
        self.0.get(&(product, zone, measure))
    }
}

fn summary(measure: Measure, mut measured: Measured) -> PolarsResult<Summary> {
    measured.windows.sort_unstable();
    measured.windows.dedup();
    let values = Float64Chunked::from_vec("value".into(), measured.values);
    let quantile = |share| PolarsResult::Ok(values.quantile(share, QuantileMethod::Linear)?.unwrap_or(f64::NAN));
    let spread = || PolarsResult::Ok(Spread { p05: quantile(0.05)?, p50: quantile(0.50)?, p95: quantile(0.95)? });
    Ok(Summary {
        mean: values.mean().unwrap_or(f64::NAN),
        max: values.max().unwrap_or(f64::NAN),
        spread: measure.is_spread_shown().then(spread).transpose()?,
        readings: values.len() as u64,
        windows: measured.windows.len() as u64,
    })
}

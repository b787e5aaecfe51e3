//! Measurements summarised by product, zone and measure. The only place that knows polars.

use std::collections::HashMap;

use polars::prelude::{Column, DataFrame, IntoLazy, LazyFrame, PolarsResult, QuantileMethod, col, len, lit};

use crate::error::ShiftProfileError;
use crate::measurement::{Measure, Measurements};

/// What the measurements of one product, zone and measure come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Summary {
    pub(crate) mean: f64,
    pub(crate) p05: f64,
    pub(crate) p50: f64,
    pub(crate) p95: f64,
    pub(crate) max: f64,
    pub(crate) readings: u64,
    /// How many windows have at least one of the readings.
    pub(crate) windows: u64,
}

/// The summaries of a shift.
#[derive(Debug, Default)]
pub(crate) struct Summaries(HashMap<(u32, u32, Measure), Summary>);

impl Summaries {
    pub(crate) fn of(measurements: Measurements) -> Result<Self, ShiftProfileError> {
        let table = frame(measurements).and_then(|frame| plan(frame.lazy()).collect());
        table.and_then(|table| Self::from_table(&table)).map_err(|error| ShiftProfileError::Summary(error.into()))
    }

    /// The summary of one measure in one zone (0 for the whole line), if there was any measurement.
    pub(crate) fn get(&self, product: usize, zone: usize, measure: Measure) -> Option<&Summary> {
        self.0.get(&(product as u32, zone as u32, measure))
    }

    fn from_table(table: &DataFrame) -> PolarsResult<Self> {
        let (product, zone, measure) =
            (table.column("product")?.u32()?, table.column("zone")?.u32()?, table.column("measure")?.u32()?);
        let mean = table.column("mean")?.f64()?;
        let (p05, p50, p95) = (table.column("p05")?.f64()?, table.column("p50")?.f64()?, table.column("p95")?.f64()?);
        let max = table.column("max")?.f64()?;
        let (readings, windows) = (table.column("readings")?.u32()?, table.column("windows")?.u32()?);
        let row = |index| {
            let key = (product.get(index)?, zone.get(index)?, Measure::from_code(measure.get(index)?)?);
            let summary = Summary {
                mean: mean.get(index)?,
                p05: p05.get(index)?,
                p50: p50.get(index)?,
                p95: p95.get(index)?,
                max: max.get(index)?,
                readings: readings.get(index)?.into(),
                windows: windows.get(index)?.into(),
            };
            Some((key, summary))
        };
        Ok(Self((0..table.height()).filter_map(row).collect()))
    }
}

fn frame(measurements: Measurements) -> PolarsResult<DataFrame> {
    let Measurements { product, zone, measure, window, value } = measurements;
    DataFrame::new_infer_height(vec![
        Column::new("product".into(), product),
        Column::new("zone".into(), zone),
        Column::new("measure".into(), measure),
        Column::new("window".into(), window),
        Column::new("value".into(), value),
    ])
}

fn plan(measurements: LazyFrame) -> LazyFrame {
    let quantile = |share: f64| col("value").quantile(lit(share), QuantileMethod::Linear);
    measurements.group_by([col("product"), col("zone"), col("measure")]).agg([
        col("value").mean().alias("mean"),
        quantile(0.05).alias("p05"),
        quantile(0.50).alias("p50"),
        quantile(0.95).alias("p95"),
        col("value").max().alias("max"),
        len().alias("readings"),
        col("window").n_unique().alias("windows"),
    ])
}

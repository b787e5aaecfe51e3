//! The table as Parquet.

use std::io::{self, Write};
use std::sync::Arc;

use arrow::array::{
    ArrayRef, Date32Array, Float64Array, Int32Array, Int64Array, RecordBatch, StringArray, TimestampMicrosecondArray,
};
use arrow::error::ArrowError;
use chrono::NaiveDate;
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;
use reading::Timestamp;

use crate::row::ShiftProfileRow;

/// Writes the table as Parquet: `date` as a date, `starts` and `ends` as UTC timestamps in microseconds,
/// whole numbers signed so that every engine reads them, what is not known null.
///
/// # Errors
/// What `out` reports.
pub fn write_parquet(rows: &[ShiftProfileRow], out: impl Write + Send) -> io::Result<()> {
    let batch = batch(rows).map_err(io::Error::other)?;
    let settings = WriterProperties::builder().set_compression(Compression::ZSTD(ZstdLevel::default())).build();
    let mut writer = ArrowWriter::try_new(out, batch.schema(), Some(settings))?;
    writer.write(&batch)?;
    writer.close()?;
    Ok(())
}

fn batch(rows: &[ShiftProfileRow]) -> Result<RecordBatch, ArrowError> {
    let arrays = arrays(&Columns(rows));
    let named = ShiftProfileRow::COLUMNS.into_iter().zip(arrays);
    RecordBatch::try_from_iter_with_nullable(named.map(|(name, array)| (name, array, !REQUIRED.contains(&name))))
}

/// The columns that every row has.
const REQUIRED: [&str; 12] = [
    "site",
    "line",
    "date",
    "shift",
    "product",
    "zone",
    "starts",
    "ends",
    "running_min",
    "readings",
    "coverage_pct",
    "alerts",
];

/// In the order of [`ShiftProfileRow::COLUMNS`].
fn arrays(columns: &Columns) -> [ArrayRef; ShiftProfileRow::COLUMNS.len()] {
    [
        columns.text(|row| Some(&row.site)),
        columns.text(|row| Some(&row.line)),
        columns.date(|row| row.date),
        columns.text(|row| Some(&row.shift)),
        columns.text(|row| Some(&row.product)),
        columns.count(|row| Some(row.zone)),
        columns.time(|row| row.starts),
        columns.time(|row| row.ends),
        columns.number(|row| Some(row.running_min)),
        columns.large_count(|row| row.readings),
        columns.number(|row| Some(row.coverage_pct)),
        columns.number(|row| row.moisture_pct_mean),
        columns.number(|row| row.moisture_pct_p05),
        columns.number(|row| row.moisture_pct_p50),
        columns.number(|row| row.moisture_pct_p95),
        columns.number(|row| row.dew_point_c_mean),
        columns.number(|row| row.humidity_ratio_mean),
        columns.number(|row| row.air_temperature_c_mean),
        columns.number(|row| row.air_temperature_c_p05),
        columns.number(|row| row.air_temperature_c_p95),
        columns.number(|row| row.exhaust_damper_pct_mean),
        columns.number(|row| row.band_speed_m_min_mean),
        columns.number(|row| row.band_speed_m_min_max),
        columns.number(|row| row.bake_time_min_mean),
        columns.count(|row| row.peak_zone),
        columns.number(|row| row.drop_1_to_2_pct),
        columns.number(|row| row.zone3_to_peak_pct),
        columns.text(|row| row.normal_id.as_deref()),
        columns.number(|row| row.departure),
        columns.count(|row| Some(row.alerts)),
    ]
}

/// The rows, column by column.
struct Columns<'a>(&'a [ShiftProfileRow]);

impl<'a> Columns<'a> {
    fn text(&self, of: impl Fn(&'a ShiftProfileRow) -> Option<&'a str>) -> ArrayRef {
        Arc::new(self.0.iter().map(of).collect::<StringArray>())
    }

    fn number(&self, of: impl Fn(&ShiftProfileRow) -> Option<f64>) -> ArrayRef {
        Arc::new(self.0.iter().map(of).collect::<Float64Array>())
    }

    fn count(&self, of: impl Fn(&ShiftProfileRow) -> Option<u32>) -> ArrayRef {
        Arc::new(self.0.iter().map(|row| of(row).map(|count| count as i32)).collect::<Int32Array>())
    }

    fn large_count(&self, of: impl Fn(&ShiftProfileRow) -> u64) -> ArrayRef {
        Arc::new(Int64Array::from_iter_values(self.0.iter().map(|row| of(row) as i64)))
    }

    fn date(&self, of: impl Fn(&ShiftProfileRow) -> NaiveDate) -> ArrayRef {
        let days = |date: NaiveDate| date.to_epoch_days();
        Arc::new(Date32Array::from_iter_values(self.0.iter().map(|row| days(of(row)))))
    }

    fn time(&self, of: impl Fn(&ShiftProfileRow) -> Timestamp) -> ArrayRef {
        let times = TimestampMicrosecondArray::from_iter_values(self.0.iter().map(|row| of(row).0));
        Arc::new(times.with_timezone("UTC"))
    }
}

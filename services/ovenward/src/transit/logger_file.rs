//! Reads a logger's file: CSV with a header, its columns under whatever names.

use std::io::Read;

use anyhow::{Context, Result, anyhow, bail};
use balance::transit::Sample;
use chrono::{NaiveDateTime, TimeZone};
use physics::air;
use physics::units::{Celsius, MoistureFraction, Pascal};
use reading::{Quantity, Timestamp};

use super::naming::Naming;

/// What the columns are called, and their units. What is not named is looked for under the usual names.
#[derive(Debug, Clone, clap::Args)]
pub(crate) struct FileColumns {
    /// The column of times: RFC 3339, a count since 1970, or local "2026-06-02 06:30:00".
    #[arg(long, value_name = "COLUMN", default_value = TIME)]
    pub(crate) time_column: String,
    /// The column of air temperatures.
    #[arg(long, value_name = "COLUMN", default_value = TEMPERATURE)]
    pub(crate) temperature_column: String,
    /// The column of dew points.
    #[arg(long, value_name = "COLUMN", conflicts_with = "moisture_column")]
    pub(crate) dew_point_column: Option<String>,
    /// The column of moistures, % vol, where the logger shows them instead of dew points.
    #[arg(long, value_name = "COLUMN")]
    pub(crate) moisture_column: Option<String>,
    /// The unit of temperatures and dew points: degC or degF.
    #[arg(long, value_name = "UNIT", default_value = DEGREES)]
    pub(crate) temperature_unit: String,
    /// What stands between two cells.
    #[arg(long, value_name = "CHARACTER", default_value_t = SEPARATOR)]
    pub(crate) separator: char,
    /// How what is wrong with them is named.
    #[arg(skip)]
    pub(crate) naming: Naming,
}

impl Default for FileColumns {
    fn default() -> Self {
        Self {
            time_column: TIME.into(),
            temperature_column: TEMPERATURE.into(),
            dew_point_column: None,
            moisture_column: None,
            temperature_unit: DEGREES.into(),
            separator: SEPARATOR,
            naming: Naming::default(),
        }
    }
}

/// The usual names of what is not named.
const TIME: &str = "time";
const TEMPERATURE: &str = "air_temperature";
const DEGREES: &str = "degC";
const SEPARATOR: char = ',';
const DEW_POINT: &str = "dew_point";
const MOISTURE: &str = "moisture";

/// What the humidity column holds.
#[derive(Clone, Copy)]
enum Humidity {
    DewPoint,
    MoisturePercent,
}

/// What a file holds.
pub(crate) struct LoggerFile {
    /// Its samples in order of time.
    pub(crate) samples: Vec<Sample>,
    /// How many of its rows could not be read, and why the first one.
    pub(crate) left_out: Option<(usize, String)>,
}

/// Reads a file; `name` is what it is called where something is wrong with it.
///
/// # Errors
/// The file cannot be read, a column is not there, or no row can be read.
pub(crate) fn read_samples(
    name: &str,
    file: impl Read,
    columns: &FileColumns,
    zone: chrono_tz::Tz,
    pressure: Pascal,
) -> Result<LoggerFile> {
    let named = |option: &str| columns.naming.of(option);
    let separator =
        u8::try_from(columns.separator).map_err(|_| anyhow!("{} is one plain character", named("--separator")))?;
    let mut reader =
        csv::ReaderBuilder::new().delimiter(separator).trim(csv::Trim::All).flexible(true).from_reader(file);
    let header: Vec<String> =
        reader.headers().with_context(|| format!("cannot read {name}"))?.iter().map(Into::into).collect();
    let find = |column: &str, option: &str| {
        header.iter().position(|found| found == column).with_context(|| {
            format!("{name} has no column {column:?}; write {} with one of {}", named(option), header.join(", "))
        })
    };
    let (time, temperature) =
        (find(&columns.time_column, "--time-column")?, find(&columns.temperature_column, "--temperature-column")?);
    let (humidity, kind) = match (&columns.dew_point_column, &columns.moisture_column) {
        (Some(column), _) => (find(column, "--dew-point-column")?, Humidity::DewPoint),
        (None, Some(column)) => (find(column, "--moisture-column")?, Humidity::MoisturePercent),
        (None, None) => match header.iter().position(|found| found == MOISTURE) {
            Some(place) => (place, Humidity::MoisturePercent),
            None => (find(DEW_POINT, "--dew-point-column")?, Humidity::DewPoint),
        },
    };
    let unit = Quantity::DewPoint.unit(&columns.temperature_unit).with_context(|| {
        let (option, given) = (named("--temperature-unit"), &columns.temperature_unit);
        format!("{option} {given:?} is none; write degC or degF")
    })?;
    let mut samples = Vec::new();
    let mut left_out: Option<(usize, String)> = None;
    for (row, record) in reader.records().enumerate() {
        let sample = record.map_err(anyhow::Error::from).and_then(|record| {
            let cell = |place: usize| record.get(place).unwrap_or_default();
            let number = |place: usize| {
                let text = cell(place);
                text.parse::<f64>()
                    .ok()
                    .filter(|number| number.is_finite())
                    .with_context(|| format!("{text:?} is no number"))
            };
            let moisture = if cell(humidity).is_empty() { None } else { Some(number(humidity)?) };
            let moisture = match (moisture, kind) {
                (None, _) => None,
                (Some(dew), Humidity::DewPoint) => {
                    Some(air::moisture_from_dew_point(Celsius(unit.to_base(dew)), pressure)?)
                }
                (Some(percent), Humidity::MoisturePercent) if (0.0..=100.0).contains(&percent) => {
                    Some(MoistureFraction(percent / 100.0))
                }
                (Some(percent), Humidity::MoisturePercent) => bail!("{percent} % vol is no moisture"),
            };
            let temperature = Celsius(unit.to_base(number(temperature)?));
            Ok(Sample { time: moment(cell(time), zone)?, temperature, moisture })
        });
        match sample {
            Ok(sample) => samples.push(sample),
            Err(why) => {
                let first = format!("line {}: {why:#}", row + 2);
                left_out = Some(left_out.map_or((1, first), |(count, first)| (count + 1, first)));
            }
        }
    }
    if samples.is_empty() {
        match left_out {
            Some((_, why)) => bail!("no row of {name} can be read; {why}"),
            None => bail!("{name} has no rows"),
        }
    }
    samples.sort_by_key(|sample| sample.time);
    samples.dedup_by_key(|sample| sample.time);
    Ok(LoggerFile { samples, left_out })
}

/// RFC 3339, a count since 1970, or the site's wall-clock time.
fn moment(text: &str, zone: chrono_tz::Tz) -> Result<Timestamp> {
    let local = || {
        let forms = ["%Y-%m-%d %H:%M:%S%.f", "%Y-%m-%dT%H:%M:%S%.f", "%d.%m.%Y %H:%M:%S%.f", "%d/%m/%Y %H:%M:%S%.f"];
        let naive = forms.iter().find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())?;
        Some(Timestamp::from(zone.from_local_datetime(&naive).earliest()?.to_utc()))
    };
    Timestamp::parse(text)
        .ok()
        .or_else(|| text.parse().ok().and_then(Timestamp::from_epoch))
        .or_else(local)
        .with_context(|| format!("{text:?} is no time; write 2026-11-02T06:00:00Z or local 2026-11-02 06:00:00"))
}

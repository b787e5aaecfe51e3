//! A reading as bytes on the wire.

use std::io::Write;

use chrono::SecondsFormat;

use crate::simulation::{PlantReading, PlantValue};

/// How a plant writes its payloads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PayloadStyle {
    /// The bare number or text: `182.4`.
    Number,
    /// `{"value":182.4,"time":"2026-11-01T12:00:00.000Z","quality":"good"}`.
    Json,
}

/// The payload of a reading.
pub fn payload(reading: &PlantReading, style: PayloadStyle) -> Vec<u8> {
    let value = match (&reading.value, style) {
        (PlantValue::Number { value, decimals }, _) => {
            format!("{value:.*}", usize::from(*decimals))
        }
        (PlantValue::Text(text), PayloadStyle::Number) => text.to_string(),
        (PlantValue::Text(text), PayloadStyle::Json) => serde_json::Value::from(&**text).to_string(),
    };
    match style {
        PayloadStyle::Number => value.into_bytes(),
        PayloadStyle::Json => {
            let time = reading.time.to_rfc3339_opts(SecondsFormat::Millis, true);
            format!(r#"{{"value":{value},"time":"{time}","quality":"good"}}"#).into_bytes()
        }
    }
}

/// Writes a reading as a row `time,tag,value`.
pub fn write_csv_row(out: &mut impl Write, reading: &PlantReading) -> std::io::Result<()> {
    let time = reading.time.to_rfc3339_opts(SecondsFormat::Millis, true);
    match &reading.value {
        PlantValue::Number { value, decimals } => {
            writeln!(out, "{time},{},{value:.*}", reading.topic, usize::from(*decimals))
        }
        PlantValue::Text(text) => writeln!(out, "{time},{},{text}", reading.topic),
    }
}

/// The first row of a CSV file of readings.
pub const CSV_HEADER: &str = "time,tag,value";

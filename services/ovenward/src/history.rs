//! Files of readings: what `backfill` and `replay` read.

mod csv_file;
mod parquet_file;

use std::path::Path;

use anyhow::{Context, Result, bail};
use reading::{Quality, Reading, SignalMap, Timestamp, payload};

/// One row of a file, as it stands there.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Where it stands: a line of a CSV, a row of a Parquet file, from 1.
    pub place: u64,
    /// RFC 3339, or a count since 1970.
    pub time: String,
    /// The topic, `topic#pointer`, or of Sparkplug `GROUP/NODE/DEVICE#metric`.
    pub tag: String,
    /// The value in text.
    pub value: String,
    /// The quality; good if there is none.
    pub quality: Option<String>,
}

/// Reads a file row by row.
///
/// # Errors
/// The file cannot be opened, or has not the columns `time,tag,value[,quality]`. A row that cannot
/// be read as text ends the iteration with an error.
pub fn rows(path: &Path) -> Result<Box<dyn Iterator<Item = Result<Row>>>> {
    let name = path.display();
    match path.extension().and_then(|end| end.to_str()) {
        Some("csv") => csv_file::rows(path).with_context(|| format!("cannot read {name}")),
        Some("parquet") => parquet_file::rows(path).with_context(|| format!("cannot read {name}")),
        _ => bail!("{name} is neither .csv nor .parquet"),
    }
}

/// The reading of a row, by the same rules as a payload.
///
/// # Errors
/// What is wrong with the row, in words.
pub fn reading(row: &Row, signals: &SignalMap, now: Timestamp) -> Result<Reading, String> {
    let Some(id) = signals.of_tag(&row.tag) else { return Err(format!("no signal has the tag {:?}", row.tag)) };
    let signal = signals.get(id);
    let time = time_of(&row.time)?;
    let quality = match row.quality.as_deref().map(str::trim) {
        None | Some("") => Quality::Good,
        Some(word) if word.eq_ignore_ascii_case("good") => Quality::Good,
        Some(word) if word.eq_ignore_ascii_case("bad") => Quality::Bad,
        Some(word) if word.eq_ignore_ascii_case("uncertain") => Quality::Uncertain,
        Some(code) => Quality::from_code(
            code.parse().map_err(|_| format!("{code:?} is no quality; write good, uncertain, bad or 0 to 255"))?,
        ),
    };
    let is_text = signal.quantity.is_text();
    let reading = if is_text && quality == Quality::Bad && row.value.is_empty() {
        Reading::without_value(id, is_text, time)
    } else {
        let value = payload::value_from_text(signal, &row.value).map_err(|rejection| rejection.detail)?;
        Reading { signal: id, time, value, quality }
    };
    payload::check(signal, reading, now).map_err(|rejection| rejection.detail)
}

/// The time of a row: RFC 3339, or a count since 1970.
///
/// # Errors
/// What is wrong with it, in words.
pub fn time_of(text: &str) -> Result<Timestamp, String> {
    Timestamp::parse(text)
        .ok()
        .or_else(|| text.trim().parse().ok().and_then(Timestamp::from_epoch))
        .ok_or_else(|| format!("{text:?} is no time; write 2026-11-02T06:00:00Z"))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use reading::{LineIndex, PayloadFormat, Quantity, Signal, Value};

    use super::*;

    #[test]
    fn a_metric_of_an_edge_node_is_a_tag_like_any_other_and_may_have_no_value() {
        let source = "Millbrook/gateway-1/tunnel-1";
        let signal = Signal {
            tag: format!("{source}#product").into(),
            payload: PayloadFormat::Sparkplug { metric: "product".into() },
            ..Signal::of_topic(source, LineIndex(0), None, Quantity::Product)
        };
        let signals = SignalMap::new(vec![signal]);
        let read = |value: &str, quality: &str| {
            let row = Row {
                place: 1,
                time: "2026-11-02T06:00:00Z".into(),
                tag: format!("{source}#product"),
                value: value.into(),
                quality: Some(quality.into()),
            };
            reading(&row, &signals, Timestamp::parse("2026-11-02T07:00:00Z").unwrap())
        };
        assert_eq!(read("T800", "good").unwrap().value, Value::Text("T800".into()));
        assert_eq!(read("", "bad").unwrap().quality, Quality::Bad, "what `export` writes where a node has died");
        assert!(read("", "good").is_err());
    }
}

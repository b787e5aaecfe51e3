//! From an MQTT message to readings.

use std::fmt;

use serde_json::Value as Json;

use crate::signal::{PayloadFormat, Signal, SignalId, SignalMap};
use crate::time::{Span, Timestamp};
use crate::value::{Quality, Reading, Value};

/// A reading may be this far ahead of the clock: plant clocks differ, but a time in the future
/// would close windows that are still filling.
pub const FUTURE_ALLOWANCE: Span = Span::minutes(5);

/// Why a payload gave no reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Reason {
    /// No signal is configured for the topic.
    UnknownTopic,
    /// The payload, or the part a pointer names, is not what the signal needs.
    Unreadable,
    /// The time in the payload cannot be read.
    UnreadableTime,
    /// The time is more than [`FUTURE_ALLOWANCE`] ahead.
    FutureTime,
    /// The value lies outside the signal's `min` and `max`.
    OutsideLimits,
    /// Sparkplug metrics by alias, and no birth in force was heard of their node or device.
    NoBirth,
    /// Sparkplug metrics by aliases that the birth does not have.
    UnknownAlias,
}

impl Reason {
    /// Every reason.
    pub const ALL: [Self; 7] = [
        Self::UnknownTopic,
        Self::Unreadable,
        Self::UnreadableTime,
        Self::FutureTime,
        Self::OutsideLimits,
        Self::NoBirth,
        Self::UnknownAlias,
    ];

    /// Its name in the metrics and in the quarantine.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::UnknownTopic => "unknown-topic",
            Self::Unreadable => "unreadable",
            Self::UnreadableTime => "unreadable-time",
            Self::FutureTime => "future-time",
            Self::OutsideLimits => "outside-limits",
            Self::NoBirth => "no-birth",
            Self::UnknownAlias => "unknown-alias",
        }
    }
}

/// A payload that gave no reading, with the reason in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Rejection {
    /// Why.
    pub reason: Reason,
    /// What was found and what was wanted.
    pub detail: String,
}

impl Rejection {
    fn new(reason: Reason, detail: impl Into<String>) -> Self {
        Self { reason, detail: detail.into() }
    }
}

impl fmt::Display for Rejection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.reason.name(), self.detail)
    }
}

/// Reads every signal that a message carries: one result each, and one rejection for a topic that
/// carries none.
#[must_use]
pub fn decode(map: &SignalMap, topic: &str, payload: &[u8], received: Timestamp) -> Vec<Result<Reading, Rejection>> {
    let ids = map.of_topic(topic);
    if ids.is_empty() {
        return vec![Err(Rejection::new(Reason::UnknownTopic, format!("no signal is configured for {topic}")))];
    }
    ids.iter().map(|&id| decode_signal(id, map.get(id), payload, received)).collect()
}

fn decode_signal(id: SignalId, signal: &Signal, payload: &[u8], received: Timestamp) -> Result<Reading, Rejection> {
    let text = std::str::from_utf8(payload)
        .map_err(|_| Rejection::new(Reason::Unreadable, format!("{} bytes that are not UTF-8 text", payload.len())))?;
    let (value, time, quality) = match &signal.payload {
        PayloadFormat::Number => (value_from_text(signal, text)?, received, Quality::Good),
        PayloadFormat::Json { value, time, quality } => {
            let json: Json = serde_json::from_str(text).map_err(|error| {
                Rejection::new(Reason::Unreadable, format!("{} is not JSON: {error}", excerpt(text)))
            })?;
            let found = json.pointer(value).ok_or_else(|| {
                Rejection::new(Reason::Unreadable, format!("{} has nothing at {value}", excerpt(text)))
            })?;
            (
                value_from_json(signal, found)?,
                time.as_ref().and_then(|pointer| json.pointer(pointer)).map_or(Ok(received), time_from_json)?,
                quality.as_ref().and_then(|pointer| json.pointer(pointer)).map_or(Quality::Good, quality_from_json),
            )
        }
        PayloadFormat::Sparkplug { metric } => {
            let detail = format!("{metric:?} is a metric of Sparkplug B, which comes under other topics");
            return Err(Rejection::new(Reason::UnknownTopic, detail));
        }
    };
    check(signal, Reading { signal: id, time, value, quality }, received)
}

/// Holds a reading against the clock and the signal's limits; one of bad quality only against the clock, since its value
/// is not believed anyway. Backfilled rows pass here too.
///
/// # Errors
/// The rejection, with the limit that was passed.
pub fn check(signal: &Signal, reading: Reading, now: Timestamp) -> Result<Reading, Rejection> {
    if reading.time > now + FUTURE_ALLOWANCE {
        let ahead = (reading.time - now).as_seconds();
        return Err(Rejection::new(Reason::FutureTime, format!("{} is {ahead:.0} s ahead of the clock", reading.time)));
    }
    if let Value::Number(raw) = reading.value
        && reading.quality != Quality::Bad
    {
        let scaled = raw * signal.scale + signal.offset;
        let (low, high) = (signal.min.unwrap_or(f64::NEG_INFINITY), signal.max.unwrap_or(f64::INFINITY));
        if !(low..=high).contains(&scaled) {
            let unit = signal.unit.name;
            return Err(Rejection::new(
                Reason::OutsideLimits,
                format!("{scaled} {unit} is outside {low} to {high} {unit}"),
            ));
        }
    }
    Ok(reading)
}

/// Reads a value from text, as a `number` payload or a backfilled row holds it.
///
/// # Errors
/// The rejection, with what was found.
pub fn value_from_text(signal: &Signal, text: &str) -> Result<Value, Rejection> {
    let text = text.trim();
    if signal.quantity.is_text() {
        return if text.is_empty() {
            Err(Rejection::new(Reason::Unreadable, "an empty text where a product code was expected"))
        } else {
            Ok(Value::Text(text.into()))
        };
    }
    match text {
        "true" | "on" => return Ok(Value::Number(1.0)),
        "false" | "off" => return Ok(Value::Number(0.0)),
        _ => {}
    }
    match text.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(Value::Number(number)),
        _ => Err(Rejection::new(
            Reason::Unreadable,
            format!("{} is not a number for {} (write 182.4)", excerpt(text), signal.quantity.name()),
        )),
    }
}

fn value_from_json(signal: &Signal, found: &Json) -> Result<Value, Rejection> {
    match found {
        Json::Number(number) if signal.quantity.is_text() => Ok(Value::Text(number.to_string().into())),
        Json::Number(number) => number
            .as_f64()
            .filter(|number| number.is_finite())
            .map(Value::Number)
            .ok_or_else(|| Rejection::new(Reason::Unreadable, format!("{number} is too large"))),
        Json::Bool(flag) => value_from_text(signal, if *flag { "true" } else { "false" }),
        Json::String(text) => value_from_text(signal, text),
        other => Err(Rejection::new(
            Reason::Unreadable,
            format!("{} is no value for {}", excerpt(&other.to_string()), signal.quantity.name()),
        )),
    }
}

fn time_from_json(found: &Json) -> Result<Timestamp, Rejection> {
    let time = match found {
        Json::String(text) => Timestamp::parse(text).ok(),
        // As an integer where it is one: nanoseconds since 1970 do not fit a double.
        Json::Number(number) => match number.as_i64() {
            Some(nanoseconds) if nanoseconds.abs() >= 100_000_000_000_000_000 => {
                Some(Timestamp(nanoseconds.div_euclid(1000)))
            }
            _ => number.as_f64().and_then(Timestamp::from_epoch),
        },
        _ => None,
    };
    time.ok_or_else(|| {
        let found = excerpt(&found.to_string());
        Rejection::new(Reason::UnreadableTime, format!("{found} is neither RFC 3339 nor a count since 1970"))
    })
}

fn quality_from_json(found: &Json) -> Quality {
    match found {
        Json::Bool(good) => {
            if *good {
                Quality::Good
            } else {
                Quality::Bad
            }
        }
        Json::Number(code) => Quality::from_code(code.as_u64().unwrap_or(0).min(255) as u8),
        Json::String(text) if text.eq_ignore_ascii_case("good") => Quality::Good,
        Json::String(text) if text.eq_ignore_ascii_case("bad") => Quality::Bad,
        Json::Null => Quality::Good,
        _ => Quality::Uncertain,
    }
}

/// The beginning of a payload, short enough for a log line.
fn excerpt(text: &str) -> String {
    const LENGTH: usize = 40;
    match text.char_indices().nth(LENGTH) {
        Some((cut, _)) => format!("{:?}…", &text[..cut]),
        None => format!("{text:?}"),
    }
}

#[cfg(test)]
mod tests;

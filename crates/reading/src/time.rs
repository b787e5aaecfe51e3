//! Event time: microseconds since 1970, UTC.

use std::fmt;
use std::ops::{Add, Sub};

use chrono::{DateTime, SecondsFormat, Utc};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

/// A moment of event time, in whole microseconds since 1970-01-01T00:00:00Z.
///
/// Written as RFC 3339 in files and messages, kept as an integer everywhere else.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Timestamp(pub i64);

/// A length of event time, in whole microseconds.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span(pub i64);

impl Span {
    /// No time at all.
    pub const ZERO: Self = Self(0);

    /// A span of whole seconds.
    #[must_use]
    pub const fn seconds(seconds: i64) -> Self {
        Self(seconds * 1_000_000)
    }

    /// A span of whole minutes.
    #[must_use]
    pub const fn minutes(minutes: i64) -> Self {
        Self::seconds(minutes * 60)
    }

    /// This span in seconds.
    #[must_use]
    pub fn as_seconds(self) -> f64 {
        self.0 as f64 / 1e6
    }
}

impl Timestamp {
    /// Parses RFC 3339, with any offset.
    ///
    /// # Errors
    /// What is wrong with the text, as [`chrono`] tells it.
    pub fn parse(text: &str) -> Result<Self, chrono::ParseError> {
        DateTime::parse_from_rfc3339(text.trim()).map(|time| Self(time.timestamp_micros()))
    }

    /// Reads a number of seconds, milliseconds, microseconds or nanoseconds since 1970, told apart
    /// by magnitude: between 1973 and 5138 the four do not overlap.
    #[must_use]
    pub fn from_epoch(number: f64) -> Option<Self> {
        let microseconds = match number.abs() {
            n if n < 1e11 => number * 1e6,
            n if n < 1e14 => number * 1e3,
            n if n < 1e17 => number,
            n if n < 1e20 => number / 1e3,
            _ => return None,
        };
        Some(Self(microseconds.round() as i64))
    }

    /// The start of the interval of this length, counted from 1970, in which the moment lies.
    #[must_use]
    pub fn floor(self, step: Span) -> Self {
        Self(self.0.div_euclid(step.0) * step.0)
    }

    /// The same moment for calendar work; `None` beyond the years chrono knows.
    #[must_use]
    pub fn to_utc(self) -> Option<DateTime<Utc>> {
        DateTime::from_timestamp_micros(self.0)
    }
}

impl From<DateTime<Utc>> for Timestamp {
    fn from(time: DateTime<Utc>) -> Self {
        Self(time.timestamp_micros())
    }
}

impl Add<Span> for Timestamp {
    type Output = Self;
    fn add(self, span: Span) -> Self {
        Self(self.0.saturating_add(span.0))
    }
}

impl Sub<Span> for Timestamp {
    type Output = Self;
    fn sub(self, span: Span) -> Self {
        Self(self.0.saturating_sub(span.0))
    }
}

impl Sub for Timestamp {
    type Output = Span;
    fn sub(self, earlier: Self) -> Span {
        Span(self.0.saturating_sub(earlier.0))
    }
}

impl fmt::Display for Timestamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.to_utc() {
            Some(time) => f.write_str(&time.to_rfc3339_opts(SecondsFormat::Millis, true)),
            None => write!(f, "{} µs since 1970", self.0),
        }
    }
}

impl Serialize for Timestamp {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Timestamp {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text).map_err(|error| de::Error::custom(format!("{text:?} is no RFC 3339 time: {error}")))
    }
}

//! Sealed readings: one Parquet file a line and day, or for a part of a day.
//!
//! A segment never crosses midnight UTC, is never changed once it has its name, and holds its rows
//! in order of tag, then time; so a tag's rows lie together, and the catalogue says where.

pub(crate) mod catalogue;
pub(crate) mod file;
pub(crate) mod inventory;
pub(crate) mod publish;
pub(crate) mod read;
pub(crate) mod write;

use std::ops::Range;

use chrono::{DateTime, NaiveDate};
use reading::Value;

use crate::tags::TagId;

pub(crate) use read::Segments;

/// Microseconds in a day.
const DAY: i64 = 86_400_000_000;

/// A stored reading of some tag.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Row {
    /// Microseconds since 1970, UTC.
    pub(crate) time: i64,
    pub(crate) value: Value,
    /// `reading::Quality::code`.
    pub(crate) quality: u8,
}

/// Where the rows of one tag lie in a segment, and from when to when (both included).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Extent {
    pub(crate) tag: TagId,
    pub(crate) first: i64,
    pub(crate) last: i64,
    pub(crate) first_row: usize,
    pub(crate) rows: usize,
}

/// The extents wanted of one segment, in order of their rows.
#[derive(Debug, Clone)]
pub(crate) struct Part {
    /// Its id; `None` if the catalogue does not list it (yet).
    pub(crate) segment: Option<i64>,
    /// Relative to the store's folder.
    pub(crate) path: String,
    pub(crate) extents: Vec<Extent>,
}

/// The UTC day of a time, counted from 1970-01-01.
pub(crate) fn day_of(time: i64) -> i64 {
    time.div_euclid(DAY)
}

/// The times of a day.
pub(crate) fn day_range(day: i64) -> Range<i64> {
    day.saturating_mul(DAY)..day.saturating_add(1).saturating_mul(DAY)
}

/// A day in the calendar; the first one there is for days beyond those chrono knows.
pub(crate) fn date_of(day: i64) -> NaiveDate {
    DateTime::from_timestamp_micros(day.saturating_mul(DAY)).map_or(NaiveDate::MIN, |time| time.date_naive())
}

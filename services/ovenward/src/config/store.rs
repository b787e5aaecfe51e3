//! `[store]`: how often readings are made safe, and how long they are kept.

use std::time::Duration;

use reading::Span;

use super::key::Number;
use super::section::Section;

const COMMIT: Number = Number::optional("commit_ms", "20").within(1.0, 1000.0, "ms");
const SEAL_AFTER: Number = Number::optional("seal_after_h", "2").within(1.0, 168.0, "h");
const KEEP_DAYS: Number = Number::optional("keep_days", "730").within(1.0, 36_500.0, "days");
const KEEP_GB: Number = Number::optional("keep_gb", "200").within(0.1, 100_000.0, "GB");

/// How readings are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StoreSettings {
    /// Readings that come within this time are committed together, then acknowledged. Default 20 ms.
    pub commit_every: Duration,
    /// A whole hour of readings is sealed this long after it ended. Default 2 h.
    pub seal_after: Span,
    /// Days after which sealed readings are dropped. Default: never.
    pub keep_days: Option<u32>,
    /// Size of the store in bytes above which its oldest sealed days are dropped. Default: none.
    pub keep_bytes: Option<u64>,
}

pub(super) fn read(section: &Section<'_>) -> StoreSettings {
    let commit_ms = section.count(&COMMIT).unwrap_or(20);
    let seal_after_h = section.number(&SEAL_AFTER).unwrap_or(2.0);
    let keep_days = section.count(&KEEP_DAYS).and_then(|days| u32::try_from(days).ok());
    let keep_gb = section.number(&KEEP_GB);
    section.finish();
    StoreSettings {
        commit_every: Duration::from_millis(commit_ms),
        seal_after: Span::seconds((seal_after_h * 3600.0).round() as i64),
        keep_days,
        keep_bytes: keep_gb.map(|gb| (gb * 1e9) as u64),
    }
}

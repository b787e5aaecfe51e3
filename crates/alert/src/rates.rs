//! How often alerts call, against the targets that ISA-18.2 publishes for what one operator can answer.
//!
//! The figures of the targets come from memory of the standard's text (its clause on performance metrics, and
//! IEC 62682 after it), not from the text itself. An operator's position is here the line's shift lead.

use reading::{Span, Timestamp};
use serde::Serialize;

use crate::alert::Priority;

/// Calls an hour that are very likely to be manageable: about one in ten minutes (from memory of ISA-18.2).
const MANAGEABLE_PER_HOUR: f64 = 6.0;
/// More calls than this within ten minutes are a flood (from memory of ISA-18.2).
const MOST_IN_TEN_MINUTES: usize = 10;
/// Share of the time that may be spent in a flood (from memory of ISA-18.2).
const FLOOD_SHARE: f64 = 0.01;
/// Share of the calls that may be high; of the others about 80 of 100 are low and 15 medium (from memory of ISA-18.2).
pub const HIGH_SHARE: f64 = 0.05;
/// What stands for longer is stale, and no longer an alert that anyone answers (from memory of ISA-18.2).
const STALE_AFTER: Span = Span::minutes(24 * 60);

const TEN_MINUTES: Span = Span::minutes(10);

/// An alert that called somebody.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Call {
    /// When it was raised.
    pub raised: Timestamp,
    /// When its cause was gone; `None` while it stands.
    pub ended: Option<Timestamp>,
    /// How soon a person should look.
    pub priority: Priority,
}

/// How often alerts called in a stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rates {
    /// Alerts that called.
    pub calls: usize,
    /// Of those, high ones.
    pub high: usize,
    /// Calls an hour.
    pub per_hour: f64,
    /// Most calls within any ten minutes.
    pub most_in_ten_minutes: usize,
    /// Share of the ten minutes, counted from the beginning of the stretch, that were a flood, 0 to 1.
    pub flood_share: f64,
    /// Alerts that were stale at the end of the stretch.
    pub stale: usize,
}

impl Rates {
    /// The rates from one moment until before another.
    #[must_use]
    pub fn between(calls: &[Call], from: Timestamp, to: Timestamp) -> Self {
        let mut raised: Vec<&Call> = calls.iter().filter(|call| (from..to).contains(&call.raised)).collect();
        raised.sort_by_key(|call| call.raised);
        let within =
            |begin: Timestamp| raised.iter().filter(|call| (begin..begin + TEN_MINUTES).contains(&call.raised)).count();
        let hours = (to - from).as_seconds() / 3600.0;
        let periods = ((to - from).as_seconds() / TEN_MINUTES.as_seconds()).ceil().max(1.0) as i64;
        let floods =
            (0..periods).filter(|number| within(from + Span(number * TEN_MINUTES.0)) > MOST_IN_TEN_MINUTES).count();
        let is_stale = |call: &&Call| to - call.raised > STALE_AFTER && call.ended.is_none_or(|ended| ended > to);
        Self {
            calls: raised.len(),
            high: raised.iter().filter(|call| call.priority == Priority::High).count(),
            per_hour: if hours > 0.0 { raised.len() as f64 / hours } else { 0.0 },
            most_in_ten_minutes: raised.iter().map(|call| within(call.raised)).max().unwrap_or(0),
            flood_share: floods as f64 / periods as f64,
            stale: calls.iter().filter(is_stale).count(),
        }
    }

    /// The targets that are missed, a few words each.
    #[must_use]
    pub fn missed(&self) -> Vec<&'static str> {
        let targets = [
            (self.per_hour > MANAGEABLE_PER_HOUR, "more than 6 an hour"),
            (self.most_in_ten_minutes > MOST_IN_TEN_MINUTES, "more than 10 in 10 min"),
            (self.flood_share > FLOOD_SHARE, "over 1 % of the time in a flood"),
            (self.stale > 0, "stale: standing for over 24 h"),
        ];
        targets.into_iter().filter(|(missed, _)| *missed).map(|(_, words)| words).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const START: Timestamp = Timestamp(1_800_000_000_000_000);

    fn call(second: i64) -> Call {
        let raised = START + Span::seconds(second);
        Call { raised, ended: Some(raised + Span::minutes(1)), priority: Priority::Medium }
    }

    fn over_hours(calls: &[Call], hours: i64) -> Rates {
        Rates::between(calls, START, START + Span::minutes(60 * hours))
    }

    #[test]
    fn a_shift_within_the_targets_misses_none() {
        let calls: Vec<Call> = (0..48).map(|number| call(number * 600)).collect();
        let rates = over_hours(&calls, 8);
        assert_eq!((rates.calls, rates.most_in_ten_minutes, rates.flood_share), (48, 1, 0.0));
        assert!((rates.per_hour - MANAGEABLE_PER_HOUR).abs() < 1e-12);
        assert_eq!(rates.missed(), [""; 0]);
    }

    #[test]
    fn ten_calls_in_ten_minutes_are_borne_and_eleven_are_a_flood() {
        let ten: Vec<Call> = (0..10).map(|number| call(300 + number * 30)).collect();
        assert_eq!(over_hours(&ten, 8).missed(), [""; 0]);
        let eleven: Vec<Call> = (0..11).map(|number| call(number * 30)).collect();
        let rates = over_hours(&eleven, 8);
        assert_eq!(rates.most_in_ten_minutes, 11);
        assert!((rates.flood_share - 1.0 / 48.0).abs() < 1e-12);
        assert_eq!(rates.missed(), ["more than 10 in 10 min", "over 1 % of the time in a flood"]);
        // Spread over two of the ten minutes, they are a flood as well, whatever the clock says.
        let across: Vec<Call> = (0..11).map(|number| call(400 + number * 30)).collect();
        assert_eq!(over_hours(&across, 8).most_in_ten_minutes, 11);
    }

    #[test]
    fn what_stands_for_longer_than_a_day_is_stale() {
        let stands = Call { ended: None, ..call(0) };
        let day = |hours| over_hours(&[stands, call(0)], hours).stale;
        assert_eq!((day(24), day(25)), (0, 1));
        assert_eq!(over_hours(&[stands], 25).missed(), ["stale: standing for over 24 h"]);
    }

    #[test]
    fn high_ones_and_only_those_of_the_stretch_are_counted() {
        let high = Call { priority: Priority::High, ..call(10) };
        let rates = over_hours(&[high, call(20), call(3600), call(-1)], 1);
        assert_eq!((rates.calls, rates.high), (2, 1));
    }
}

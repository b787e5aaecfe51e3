//! Keeping a kind of alert quiet on a line: on the shelf until a time, or out of service.
//!
//! A shelf ends by the clock on the wall, not by the time of the readings: it is a promise made to a
//! person, who looks at that clock; it must end when no readings come at all; and readings that come
//! hours late must not be judged more quietly than was asked for.

use reading::{Span, Timestamp};
use serde::{Deserialize, Serialize};

use crate::alert::{Kind, Priority};
use crate::state::{AlertState, Transition};

/// That a kind of alert calls nobody on a line, who wanted it so and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Suppression {
    /// Since when, by the clock on the wall.
    pub since: Timestamp,
    /// When the time on the shelf is over, by the clock on the wall; `None` for out of service.
    pub until: Option<Timestamp>,
    /// Why.
    pub reason: String,
    /// Who wanted it so.
    pub by: String,
}

/// The longest time on the shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShelfLimits {
    /// Of a kind of which an alert can be high.
    pub high: Span,
    /// Of any other.
    pub other: Span,
}

impl Default for ShelfLimits {
    fn default() -> Self {
        Self { high: Span::minutes(60), other: Span::minutes(24 * 60) }
    }
}

impl ShelfLimits {
    /// The longest time on the shelf of a kind.
    #[must_use]
    pub fn of(self, kind: Kind) -> Span {
        if kind.highest_priority() == Priority::High { self.high } else { self.other }
    }
}

/// Why a kind of alert can't be kept quiet like this, with what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// Nobody would know later whom to ask.
    #[error("nobody is named; say who does it")]
    NoName,
    /// Nobody would know later whether it may be ended.
    #[error("no reason is given; say why, so that the next shift knows")]
    NoReason,
    /// It would be over before it began.
    #[error("{0} is past; name a later time")]
    Past(Timestamp),
    /// So long on the shelf, and it is forgotten.
    #[error("{} can be shelved for at most {} min; for longer, take it out of service", .kind.name(), .longest.0 / 60_000_000)]
    TooLong {
        /// What was to be shelved.
        kind: Kind,
        /// The longest time.
        longest: Span,
    },
}

impl Suppression {
    /// Puts a kind on the shelf from now until a time.
    ///
    /// # Errors
    /// No name, no reason, a time that is past, or one that is too far away for this kind.
    pub fn shelf(
        kind: Kind,
        until: Timestamp,
        reason: &str,
        by: &str,
        now: Timestamp,
        limits: ShelfLimits,
    ) -> Result<Self, Refusal> {
        if until <= now {
            return Err(Refusal::Past(until));
        }
        let longest = limits.of(kind);
        if until - now > longest {
            return Err(Refusal::TooLong { kind, longest });
        }
        Ok(Self { until: Some(until), ..Self::out_of_service(reason, by, now)? })
    }

    /// Takes a kind out of service from now until it is put back.
    ///
    /// # Errors
    /// No name or no reason.
    pub fn out_of_service(reason: &str, by: &str, now: Timestamp) -> Result<Self, Refusal> {
        let (reason, by) = (reason.trim(), by.trim());
        if by.is_empty() {
            return Err(Refusal::NoName);
        }
        if reason.is_empty() {
            return Err(Refusal::NoReason);
        }
        Ok(Self { since: now, until: None, reason: reason.into(), by: by.into() })
    }

    /// What it does to an alert.
    #[must_use]
    pub fn transition(&self) -> Transition {
        if self.until.is_some() { Transition::Shelve } else { Transition::TakeOutOfService }
    }

    /// The state of an alert that stands while it is in force.
    #[must_use]
    pub fn state(&self) -> AlertState {
        if self.until.is_some() { AlertState::Shelved } else { AlertState::OutOfService }
    }

    /// Whether its time is over.
    #[must_use]
    pub fn is_over(&self, now: Timestamp) -> bool {
        self.until.is_some_and(|until| until <= now)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: Timestamp = Timestamp(1_800_000_000_000_000);

    fn shelf(kind: Kind, minutes: i64) -> Result<Suppression, Refusal> {
        Suppression::shelf(kind, NOW + Span::minutes(minutes), "sensor is changed", "Ann", NOW, ShelfLimits::default())
    }

    #[test]
    fn a_high_alert_is_shelved_for_an_hour_at_most_and_another_for_a_day() {
        assert!(shelf(Kind::Zone3Limit, 60).is_ok());
        let refusal = Refusal::TooLong { kind: Kind::UnmatchedSpeedRise, longest: Span::minutes(60) };
        assert_eq!(shelf(Kind::UnmatchedSpeedRise, 61), Err(refusal.clone()));
        assert!(refusal.to_string().contains("at most 60 min"), "{refusal}");
        assert!(shelf(Kind::SensorFault, 24 * 60).is_ok());
        assert!(shelf(Kind::SensorFault, 24 * 60 + 1).is_err());
    }

    #[test]
    fn a_shelf_ends_at_its_time_and_out_of_service_never_by_itself() {
        let shelved = shelf(Kind::SensorFault, 30);
        let over = |minutes| shelved.as_ref().map(|shelved| shelved.is_over(NOW + Span::minutes(minutes)));
        assert_eq!((over(29), over(30)), (Ok(false), Ok(true)));
        let out = Suppression::out_of_service("burner is rebuilt", "Ann", NOW);
        assert_eq!(out.map(|out| out.is_over(Timestamp(i64::MAX))), Ok(false));
    }

    #[test]
    fn it_takes_a_name_a_reason_and_a_time_to_come() {
        assert_eq!(shelf(Kind::SensorFault, 0), Err(Refusal::Past(NOW)));
        assert_eq!(Suppression::out_of_service(" ", "Ann", NOW), Err(Refusal::NoReason));
        assert_eq!(Suppression::out_of_service("burner is rebuilt", "", NOW), Err(Refusal::NoName));
    }
}

//! What becomes of what a receiver knows, once an alert has changed.

use alert::{Alert, Priority};
use reading::{ShiftCalendar, Span, Timestamp};

use crate::event::Event;
use crate::rule::Rule;

/// What a receiver knows of an alert.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Known {
    /// What it was told last.
    pub told: Option<Event>,
    /// What waits for it, and from when on it may be told.
    pub waiting: Option<(Event, Timestamp)>,
}

/// What is to be told to a receiver about an alert.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decision {
    /// What waits, or nothing if nothing does.
    AsBefore,
    /// Nothing, and what waited is dropped.
    Nothing,
    /// This, instead of what waited.
    Tell {
        /// What.
        event: Event,
        /// From when on.
        due: Timestamp,
    },
}

impl Rule {
    /// Decides on an alert as it is now. `called` says whether it began to call since the last decision: of one that
    /// stood before the receiver was named nothing is told.
    ///
    /// What a receiver never heard of is told only while it matters: what was held for it and has been answered or is
    /// over meanwhile is dropped. What should have been told, and could not be, is told as it is now; if it is over by
    /// then, only a high alert is: nobody wants last week's alerts of a server that comes back, and a spoilt product
    /// must not stay unknown.
    #[must_use]
    pub fn decide(
        &self,
        alert: &Alert,
        called: bool,
        known: Known,
        now: Timestamp,
        calendar: &ShiftCalendar,
    ) -> Decision {
        let event = Event::of(alert.state);
        if known.told == Some(event) {
            return Decision::Nothing;
        }
        if known.waiting.is_some_and(|(waiting, _)| waiting == event) {
            return Decision::AsBefore;
        }
        let from = if event == Event::Raised { now + self.after } else { now };
        let due = self.due(alert.priority, from, calendar);
        let overdue = known.waiting.is_some_and(|(_, due)| due <= now);
        let begins = called && self.concerns(alert);
        let is_high = alert.priority == Priority::High;
        let tell = match (event, known.waiting) {
            _ if known.told.is_some() => true,
            (Event::Raised, waiting) => waiting.is_some() || begins,
            (Event::Answered, _) => overdue,
            (Event::Ended, Some(_)) => is_high && overdue,
            // Begun and over between two looks: it would have been told, had there been a look in between.
            (Event::Ended, None) => is_high && begins && self.after == Span(0) && due == now,
        };
        if tell { Decision::Tell { event, due } } else { Decision::Nothing }
    }
}

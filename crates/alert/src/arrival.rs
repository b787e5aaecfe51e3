//! How long ago a rise has reached every zone.

use reading::{Span, Timestamp};

use crate::evidence::Evidence;

/// From this long after it has reached every zone, a rise is held against what practice had made of
/// others by then: crews that take their time have answered.
const SETTLED_AFTER: Span = Span::minutes(10);

/// Since when a rise has reached every zone; a band that speeds up further has to reach them anew.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Arrival(Option<Timestamp>);

impl Arrival {
    /// Takes the evidence at a moment; says whether the rise has just reached the last zone.
    pub(crate) fn note(&mut self, evidence: &Evidence, now: Timestamp) -> bool {
        let before = self.0;
        self.0 = evidence.complete.then(|| before.unwrap_or(now));
        before.is_none() && evidence.complete
    }

    /// Whether every zone was reached at least this long ago.
    pub(crate) fn lies_back(self, by: Span, now: Timestamp) -> bool {
        self.0.is_some_and(|since| now - since >= by)
    }

    pub(crate) fn is_settled(self, now: Timestamp) -> bool {
        self.lies_back(SETTLED_AFTER, now)
    }
}

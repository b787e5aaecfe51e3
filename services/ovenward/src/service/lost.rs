//! Readings that were lost before they came here, as far as the broker tells: each loss is kept as a gap.
//!
//! Three things are told. That the broker has forgotten our session: whatever came since we were last connected is gone.
//! And how many messages it has dropped for want of room, which mosquitto counts under [`DROPPED`].
//! And, by the sequence numbers of an edge node, that messages of it did not come.

use std::sync::Arc;

use reading::Timestamp;
use serde::{Deserialize, Serialize};
use store::{Gap, GapCause, Store};

use super::troubles::{Troubles, Work};

/// Where mosquitto tells how many messages it has dropped since it began, for all its clients together.
pub(crate) const DROPPED: &str = "$SYS/broker/publish/messages/dropped";

/// What was last known of the broker, in the store.
const NOTE: &str = "broker/known";
/// It is noted at most this often: a gap may begin so much too early, never too late.
const NOTE_EVERY: reading::Span = reading::Span::seconds(10);

/// Watches for losses.
pub(crate) struct LossWatch {
    store: Store,
    troubles: Arc<Troubles>,
    known: Known,
    noted: Option<Timestamp>,
    /// Gaps that the store could not take yet.
    waiting: Vec<Gap>,
}

/// What is known of the broker.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
struct Known {
    /// When we were last connected, with a session.
    connected: Option<Timestamp>,
    /// When the count of dropped messages was last told, and the count.
    dropped: Option<(Timestamp, u64)>,
}

impl Known {
    /// The gap that a new connection at `now` reveals.
    fn session(&mut self, present: bool, now: Timestamp) -> Option<Gap> {
        let before = self.connected.replace(now).filter(|_| !present)?;
        Some(Gap { began: before, ended: now, cause: GapCause::SessionLost, lost: None })
    }

    /// The gap that a count of dropped messages reveals. A count that has fallen is that of a broker begun anew.
    fn dropped(&mut self, count: u64, now: Timestamp) -> Option<Gap> {
        let (since, before) = self.dropped.replace((now, count))?;
        let lost = count.checked_sub(before).filter(|lost| *lost > 0)?;
        Some(Gap { began: since, ended: now, cause: GapCause::BrokerDropped, lost: Some(lost) })
    }
}

impl LossWatch {
    /// Goes on from what was known before the restart.
    ///
    /// # Errors
    /// The store cannot be read.
    pub(crate) fn resume(store: Store, troubles: Arc<Troubles>) -> anyhow::Result<Self> {
        let noted = store.meta(NOTE)?;
        let known = noted.map(|json| serde_json::from_str(&json)).transpose()?.unwrap_or_default();
        Ok(Self { store, troubles, known, noted: None, waiting: Vec::new() })
    }

    /// The broker has let us in, with our session or without.
    pub(crate) fn connected(&mut self, session_present: bool, now: Timestamp) {
        let gap = self.known.session(session_present, now);
        self.keep(gap);
    }

    /// Something came from the broker.
    pub(crate) fn heard(&mut self, now: Timestamp) {
        self.known.connected = Some(now);
        if self.noted.is_none_or(|noted| now - noted >= NOTE_EVERY || now < noted) {
            self.keep(None);
        }
    }

    /// The broker has told how many messages it has dropped.
    pub(crate) fn told(&mut self, payload: &[u8], now: Timestamp) {
        let count = std::str::from_utf8(payload).ok().and_then(|text| text.trim().parse().ok());
        if let Some(count) = count {
            let gap = self.known.dropped(count, now);
            self.keep(gap);
        }
    }

    /// Stores gaps, then what is known: in the other order a crash in between would hide a gap.
    pub(crate) fn keep(&mut self, gap: Option<Gap>) {
        if let Some(gap) = &gap {
            let lost = gap.lost.map_or_else(|| "an unknown number of".into(), |lost| lost.to_string());
            tracing::error!("{lost} messages lost from {} to {}: {}", gap.began, gap.ended, gap.cause.name());
        }
        self.waiting.extend(gap);
        let attempt = self.store_all();
        if self.troubles.note(Work::StoringGaps, attempt).is_some() {
            self.noted = self.known.connected;
        }
    }

    fn store_all(&mut self) -> anyhow::Result<()> {
        while let Some(gap) = self.waiting.first() {
            self.store.record_gap(gap)?;
            self.waiting.remove(0);
        }
        Ok(self.store.set_meta(NOTE, &serde_json::to_string(&self.known)?)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn at(second: i64) -> Timestamp {
        Timestamp(second * 1_000_000)
    }

    #[test]
    fn only_a_session_that_was_there_can_be_lost() {
        let mut known = Known::default();
        assert_eq!(known.session(false, at(1)), None, "the first of all");
        assert_eq!(known.session(true, at(2)), None, "still there");
        let gap = Gap { began: at(2), ended: at(9), cause: GapCause::SessionLost, lost: None };
        assert_eq!(known.session(false, at(9)), Some(gap));
    }

    #[test]
    fn a_count_that_rises_is_a_gap_and_one_that_falls_a_new_broker() {
        let mut known = Known::default();
        assert_eq!(known.dropped(40, at(1)), None, "dropped before we came");
        assert_eq!(known.dropped(40, at(2)), None);
        let gap = Gap { began: at(2), ended: at(12), cause: GapCause::BrokerDropped, lost: Some(5) };
        assert_eq!(known.dropped(45, at(12)), Some(gap));
        assert_eq!(known.dropped(0, at(22)), None);
    }
}

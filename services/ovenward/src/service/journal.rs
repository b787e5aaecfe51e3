//! What detection has to store: kept in order until the store takes it, so that a full disk stops no detection.
//!
//! In memory only. After a crash the same readings raise the same alerts, since `detection/judged`, which stands
//! behind them in the journal, was not noted either.

use std::collections::VecDeque;
use std::sync::Arc;

use alert::Alert;
use anyhow::Result;
use reading::Timestamp;
use store::{OutboxMessage, Store};
use tokio::sync::Notify;

use super::clock::PlantClock;
use super::troubles::{Troubles, Work};
use crate::alert_desk::AlertDesk;

/// Something to be stored, whole or not at all.
pub(crate) enum Entry {
    /// An alert that detection raises.
    Raised(Box<Alert>),
    /// An alert whose cause is gone.
    Ended {
        /// Which.
        id: String,
        /// Since when.
        at: Timestamp,
        /// What is to stand in its history.
        what: &'static str,
    },
    /// Messages alone.
    Messages(Vec<OutboxMessage>),
    /// A note, under its key.
    Note(&'static str, String),
}

/// Detection's way into the store.
pub(crate) struct Journal {
    store: Store,
    desk: AlertDesk,
    clock: PlantClock,
    waiting: Arc<Notify>,
    troubles: Arc<Troubles>,
    entries: VecDeque<Entry>,
}

impl Journal {
    /// An empty journal; `waiting` is told of each message in the outbox.
    pub(crate) fn new(
        store: Store,
        desk: AlertDesk,
        clock: PlantClock,
        waiting: Arc<Notify>,
        troubles: Arc<Troubles>,
    ) -> Self {
        Self { store, desk, clock, waiting, troubles, entries: VecDeque::new() }
    }

    /// Stores an entry behind those that wait, or lets it wait behind them.
    pub(crate) fn enter(&mut self, entry: Entry) {
        self.entries.push_back(entry);
        self.settle();
    }

    /// Stores what waits, as far as the store takes it.
    pub(crate) fn settle(&mut self) {
        while let Some(entry) = self.entries.front() {
            let stored = self.store(entry);
            if self.troubles.note(Work::StoringAlerts, stored).is_none() {
                return;
            }
            self.entries.pop_front();
            self.waiting.notify_one();
        }
    }

    /// Whether nothing waits.
    pub(crate) fn is_settled(&self) -> bool {
        self.entries.is_empty()
    }

    fn store(&self, entry: &Entry) -> Result<()> {
        match entry {
            Entry::Raised(alert) => self.desk.raise(alert, self.clock.now()).map(|_| ()),
            Entry::Ended { id, at, what } => self.desk.end(id, *at, what),
            Entry::Messages(messages) => Ok(self.store.enqueue(messages)?),
            Entry::Note(key, value) => Ok(self.store.set_meta(key, value)?),
        }
    }
}

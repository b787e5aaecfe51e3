//! What detection has to store: kept in order until the store takes it, so that a full disk stops no detection.
//!
//! In memory only. After a crash the same readings raise the same alerts, since `detection/judged`, which stands
//! behind them in the journal, was not noted either.

use std::collections::VecDeque;
use std::sync::Arc;

use store::{AlertChange, AlertRecord, OutboxMessage, Store, StoreError};
use tokio::sync::Notify;

use super::troubles::{Troubles, Work};

/// Something to be stored, whole or not at all.
pub(crate) enum Entry {
    /// An alert, the change of it, and the messages that tell of it.
    Alert(Box<AlertRecord>, AlertChange, Vec<OutboxMessage>),
    /// Messages alone.
    Messages(Vec<OutboxMessage>),
    /// A note, under its key.
    Note(&'static str, String),
}

/// Detection's way into the store.
pub(crate) struct Journal {
    store: Store,
    waiting: Arc<Notify>,
    troubles: Arc<Troubles>,
    entries: VecDeque<Entry>,
}

impl Journal {
    /// An empty journal; `waiting` is told of each message in the outbox.
    pub(crate) fn new(store: Store, waiting: Arc<Notify>, troubles: Arc<Troubles>) -> Self {
        Self { store, waiting, troubles, entries: VecDeque::new() }
    }

    /// Stores an entry behind those that wait, or lets it wait behind them.
    pub(crate) fn enter(&mut self, entry: Entry) {
        self.entries.push_back(entry);
        self.settle();
    }

    /// Stores what waits, as far as the store takes it.
    pub(crate) fn settle(&mut self) {
        while let Some(entry) = self.entries.front() {
            let stored = store(&self.store, entry);
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
}

fn store(store: &Store, entry: &Entry) -> Result<(), StoreError> {
    match entry {
        Entry::Alert(record, change, messages) => store.record_alert(record, change, messages),
        Entry::Messages(messages) => store.enqueue(messages),
        Entry::Note(key, value) => store.set_meta(key, value),
    }
}

//! Which deliveries of the present connection still wait for their acknowledgement.
//!
//! MQTT asks for acknowledgements in the order in which the messages were received (MQTT 5.0, 4.6),
//! and some brokers cut a client that does otherwise. The ledger therefore holds an acknowledgement
//! back until all before it have been given.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::link::Requests;

/// Names one delivery of one connection. Give it back when the message is safe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Token {
    connection: u64,
    sequence: u64,
}

impl Token {
    /// For a message that wants no acknowledgement (QoS 0): belongs to no connection, and is
    /// ignored like any stale token.
    pub(crate) const NONE: Self = Self { connection: 0, sequence: 0 };
}

/// Returns tokens to the broker. Cheap to clone; callable from any thread.
#[derive(Clone)]
pub struct Acknowledger {
    ledger: Arc<Mutex<Ledger>>,
}

impl Acknowledger {
    pub(crate) fn new() -> Self {
        Self { ledger: Arc::new(Mutex::new(Ledger::default())) }
    }

    /// Says that these messages are safe: the broker may forget them. Never blocks on the network,
    /// in any order, twice without harm. A token of an earlier connection is ignored, since the
    /// broker delivers that message again.
    pub fn acknowledge(&self, tokens: impl IntoIterator<Item = Token>) {
        let mut ledger = self.lock();
        for token in tokens {
            ledger.settle(token);
        }
        ledger.send_settled();
    }

    /// How many messages were handed out on the present connection and not yet acknowledged.
    pub fn outstanding(&self) -> usize {
        self.lock().entries.len()
    }

    /// Begins the ledger of a new connection, whose acknowledgements leave through `requests`.
    pub(crate) fn open(&self, requests: Requests) {
        let mut ledger = self.lock();
        ledger.connection += 1;
        ledger.requests = Some(requests);
        ledger.first = 0;
        ledger.entries.clear();
    }

    /// Ends the ledger of a connection: its tokens are stale from here on.
    pub(crate) fn close(&self) {
        let mut ledger = self.lock();
        ledger.requests = None;
        ledger.entries.clear();
    }

    /// Enters a message as received.
    pub(crate) fn receive(&self, packet_id: u16) -> Token {
        let mut ledger = self.lock();
        let sequence = ledger.first + ledger.entries.len() as u64;
        ledger.entries.push_back(Entry { packet_id, settled: false });
        Token { connection: ledger.connection, sequence }
    }

    fn lock(&self) -> MutexGuard<'_, Ledger> {
        // No code that holds the lock can leave the ledger half changed.
        self.ledger.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[derive(Default)]
struct Ledger {
    /// Number of the present connection; the first is 1.
    connection: u64,
    requests: Option<Requests>,
    /// Sequence of the first entry.
    first: u64,
    entries: VecDeque<Entry>,
}

struct Entry {
    packet_id: u16,
    settled: bool,
}

impl Ledger {
    fn settle(&mut self, token: Token) {
        if token.connection != self.connection {
            return;
        }
        let index = token.sequence.checked_sub(self.first);
        let entry = index.and_then(|index| self.entries.get_mut(usize::try_from(index).ok()?));
        if let Some(entry) = entry {
            entry.settled = true;
        }
    }

    /// Sends all acknowledgements up to the first message that still waits.
    fn send_settled(&mut self) {
        let Some(requests) = &self.requests else {
            return;
        };
        while self.entries.front().is_some_and(|entry| entry.settled) {
            if let Some(entry) = self.entries.pop_front() {
                self.first += 1;
                requests.acknowledge(entry.packet_id);
            }
        }
    }
}

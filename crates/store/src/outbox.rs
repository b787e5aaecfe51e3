//! Messages that must leave: kept until the broker has acknowledged them, handed out in order.

use rusqlite::{Transaction, params};

use crate::Store;
use crate::error::{Cause, StoreError};
use crate::meta;

/// A message to publish.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutboxMessage {
    /// Where to.
    pub topic: String,
    /// What; empty clears a retained message.
    pub payload: Vec<u8>,
    /// Whether the broker is to keep it for later subscribers.
    pub retain: bool,
}

/// A message that waits in the outbox.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outgoing {
    /// Its place: rises with each message, and is never used twice.
    pub id: i64,
    /// The message.
    pub message: OutboxMessage,
}

impl Store {
    /// Puts messages at the end of the outbox, all or none.
    ///
    /// # Errors
    /// None was put there. See [`StoreError`].
    pub fn enqueue(&self, messages: &[OutboxMessage]) -> Result<(), StoreError> {
        self.inner.database.write("put messages into the outbox", |transaction, _| enqueue(transaction, messages))
    }

    /// Puts messages at the end of the outbox and sets the value under a key, in one transaction: what the note says
    /// of the messages is true whenever it is read.
    ///
    /// # Errors
    /// Neither was done. See [`StoreError`].
    pub fn enqueue_noting(&self, messages: &[OutboxMessage], key: &str, value: &str) -> Result<(), StoreError> {
        self.inner.database.write("put messages into the outbox", |transaction, _| {
            enqueue(transaction, messages)?;
            meta::set(transaction, key, value)
        })
    }

    /// The oldest messages of the outbox with an id above `after` (0 for the very oldest), in
    /// order, at most `limit`. They stay until they are [done](Self::outbox_done).
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn outbox_next(&self, after: i64, limit: usize) -> Result<Vec<Outgoing>, StoreError> {
        self.inner.database.read("read the outbox", |snapshot| {
            let mut select = snapshot
                .prepare_cached("SELECT id, topic, payload, retain FROM outbox WHERE id > ?1 ORDER BY id LIMIT ?2")?;
            let messages = select.query_map(params![after, limit], |row| {
                let message = OutboxMessage { topic: row.get(1)?, payload: row.get(2)?, retain: row.get(3)? };
                Ok(Outgoing { id: row.get(0)?, message })
            })?;
            Ok(messages.collect::<Result<_, _>>()?)
        })
    }

    /// Removes messages that the broker has acknowledged.
    ///
    /// # Errors
    /// They are still there and will be handed out again. See [`StoreError`].
    pub fn outbox_done(&self, ids: &[i64]) -> Result<(), StoreError> {
        self.inner.database.write("remove messages from the outbox", |transaction, _| {
            let mut delete = transaction.prepare_cached("DELETE FROM outbox WHERE id = ?1")?;
            for id in ids {
                delete.execute([id])?;
            }
            Ok(())
        })
    }

    /// How many messages wait in the outbox.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn outbox_len(&self) -> Result<usize, StoreError> {
        self.inner.database.read("count the outbox", |snapshot| {
            Ok(snapshot.query_row("SELECT count(*) FROM outbox", [], |row| row.get(0))?)
        })
    }
}

pub(crate) fn enqueue(transaction: &Transaction, messages: &[OutboxMessage]) -> Result<(), Cause> {
    let mut insert = transaction.prepare_cached("INSERT INTO outbox (topic, payload, retain) VALUES (?1, ?2, ?3)")?;
    for message in messages {
        insert.execute(params![message.topic, message.payload, message.retain])?;
    }
    Ok(())
}

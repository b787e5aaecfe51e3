//! Payloads that gave no reading: kept as they came, with the reason, within bounds.

use reading::{Reading, Span, Timestamp};
use rusqlite::{Transaction, params};

use crate::Store;
use crate::commit::Committed;
use crate::error::{Cause, StoreError};

/// Only the newest of this number are kept: a topic that sends rubbish each second must not fill
/// the disk. The counts by reason go on.
pub const QUARANTINE_ROWS: i64 = 10_000;

/// Kept for this long after receipt.
pub const QUARANTINE_AGE: Span = Span::minutes(90 * 24 * 60);

/// Of a longer payload only the beginning is kept, bytes.
pub const QUARANTINE_PAYLOAD: usize = 64 * 1024;

/// A payload that gave no reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quarantined {
    /// When it was received.
    pub received: Timestamp,
    /// On which topic.
    pub topic: String,
    /// The payload as it came, up to [`QUARANTINE_PAYLOAD`] bytes.
    pub payload: Vec<u8>,
    /// The reason's name.
    pub reason: String,
    /// The reason in words.
    pub detail: String,
}

/// A payload in the quarantine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuarantineEntry {
    /// Rises with each payload.
    pub id: i64,
    /// The payload and what is known of it.
    pub quarantined: Quarantined,
}

impl Store {
    /// The newest payloads of the quarantine, newest first.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn quarantine(&self, limit: usize) -> Result<Vec<QuarantineEntry>, StoreError> {
        self.inner.database.read("list the quarantine", |snapshot| {
            let mut select = snapshot.prepare_cached(
                "SELECT id, received, topic, payload, reason, detail FROM quarantine ORDER BY id DESC LIMIT ?1",
            )?;
            let entries = select.query_map([limit], |row| {
                let quarantined = Quarantined {
                    received: Timestamp(row.get(1)?),
                    topic: row.get(2)?,
                    payload: row.get(3)?,
                    reason: row.get(4)?,
                    detail: row.get(5)?,
                };
                Ok(QuarantineEntry { id: row.get(0)?, quarantined })
            })?;
            Ok(entries.collect::<Result<_, _>>()?)
        })
    }

    /// How many payloads have been quarantined, by reason, those no longer kept included.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn quarantine_counts(&self) -> Result<Vec<(String, usize)>, StoreError> {
        self.inner.database.read("count the quarantine", |snapshot| {
            let mut select = snapshot.prepare_cached("SELECT reason, count FROM quarantine_count ORDER BY reason")?;
            Ok(select.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?)
        })
    }

    /// Stores readings of payloads that could be read after all, and removes the payloads, in one transaction.
    ///
    /// # Errors
    /// Nothing was stored, and the payloads are still there. See [`StoreError`].
    pub fn commit_released(&self, readings: &[Reading], ids: &[i64]) -> Result<Committed, StoreError> {
        self.inner.database.write("release payloads from the quarantine", |transaction, sealed| {
            let mut delete = transaction.prepare_cached("DELETE FROM quarantine WHERE id = ?1")?;
            for id in ids {
                delete.execute([id])?;
            }
            self.insert(transaction, sealed, readings)
        })
    }
}

pub(crate) fn add(transaction: &Transaction, payloads: &[Quarantined]) -> Result<(), Cause> {
    let Some(newest) = payloads.iter().map(|payload| payload.received).max() else { return Ok(()) };
    let mut insert = transaction.prepare_cached(
        "INSERT INTO quarantine (received, topic, payload, reason, detail) VALUES (?1, ?2, ?3, ?4, ?5)",
    )?;
    let mut count = transaction.prepare_cached(
        "INSERT INTO quarantine_count (reason, count) VALUES (?1, 1) ON CONFLICT (reason) DO UPDATE SET count = count + 1",
    )?;
    for payload in payloads {
        let bytes = &payload.payload[..payload.payload.len().min(QUARANTINE_PAYLOAD)];
        insert.execute(params![payload.received.0, payload.topic, bytes, payload.reason, payload.detail])?;
        count.execute([&payload.reason])?;
    }
    let mut forget = transaction.prepare_cached("DELETE FROM quarantine WHERE id <= ?1")?;
    forget.execute([transaction.last_insert_rowid() - QUARANTINE_ROWS])?;
    let mut expire = transaction.prepare_cached(
        // Ids follow receipt closely enough: only the oldest are looked at.
        "DELETE FROM quarantine WHERE id IN (SELECT id FROM quarantine ORDER BY id LIMIT ?2) AND received < ?1",
    )?;
    expire.execute(params![(newest - QUARANTINE_AGE).0, payloads.len() + 10])?;
    Ok(())
}

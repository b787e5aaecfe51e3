//! Records of rate changes: decided on what is stored, in the transaction that writes them.

use reading::Timestamp;
use rusqlite::{Row, Transaction, params};

use crate::Store;
use crate::error::{Cause, StoreError};

/// A rate change as it is kept. What it says is its owner's, in `json`; beside it stands what is asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RateChangeRecord {
    /// Given by the owner, once.
    pub id: String,
    /// The line's id.
    pub line: String,
    /// How far it has come.
    pub state: String,
    /// When it was proposed.
    pub proposed: Timestamp,
    /// The whole record.
    pub json: String,
}

impl Store {
    /// Changes or adds one rate change: shows `decide` all of them, in the order in which they were proposed, and writes
    /// what it gives; nothing else is written in between. What else it gives is handed on.
    ///
    /// # Errors
    /// What `decide` refused, or a [`StoreError`]: nothing was changed.
    pub fn change_rate<T, E: From<StoreError>>(
        &self,
        decide: impl FnOnce(&[RateChangeRecord]) -> Result<(RateChangeRecord, T), E>,
    ) -> Result<T, E> {
        self.inner.database.write("change the record of a rate change", |transaction, _| {
            match decide(&read(transaction)?) {
                Ok((record, told)) => {
                    write(transaction, &record)?;
                    Ok(Ok(told))
                }
                Err(refusal) => Ok(Err(refusal)),
            }
        })?
    }

    /// Every rate change, in the order in which they were proposed.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn rate_changes(&self) -> Result<Vec<RateChangeRecord>, StoreError> {
        self.inner.database.read("list rate changes", read)
    }
}

fn read(transaction: &Transaction) -> Result<Vec<RateChangeRecord>, Cause> {
    let mut select =
        transaction.prepare_cached("SELECT id, line, state, proposed, json FROM rate_change ORDER BY proposed, id")?;
    Ok(select.query_map([], record)?.collect::<Result<_, _>>()?)
}

fn write(transaction: &Transaction, record: &RateChangeRecord) -> Result<(), Cause> {
    let mut put = transaction.prepare_cached(
        "INSERT INTO rate_change (id, line, state, proposed, json) VALUES (?1, ?2, ?3, ?4, ?5)
         ON CONFLICT (id) DO UPDATE SET line = ?2, state = ?3, proposed = ?4, json = ?5",
    )?;
    put.execute(params![record.id, record.line, record.state, record.proposed.0, record.json])?;
    Ok(())
}

fn record(row: &Row) -> rusqlite::Result<RateChangeRecord> {
    Ok(RateChangeRecord {
        id: row.get(0)?,
        line: row.get(1)?,
        state: row.get(2)?,
        proposed: Timestamp(row.get(3)?),
        json: row.get(4)?,
    })
}

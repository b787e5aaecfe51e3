//! Small facts that outlive a restart: how far detection has come on a line, for example.

use rusqlite::{OptionalExtension, Transaction, params};

use crate::Store;
use crate::error::{Cause, StoreError};

impl Store {
    /// The value last set under this key.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn meta(&self, key: &str) -> Result<Option<String>, StoreError> {
        self.inner.database.read("read a note", |snapshot| {
            Ok(snapshot.query_row("SELECT value FROM meta WHERE key = ?1", [key], |row| row.get(0)).optional()?)
        })
    }

    /// The keys that begin like this, with their values, in the order of the keys.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn metas(&self, beginning: &str) -> Result<Vec<(String, String)>, StoreError> {
        self.inner.database.read("read notes", |snapshot| {
            let mut select = snapshot
                .prepare_cached("SELECT key, value FROM meta WHERE substr(key, 1, length(?1)) = ?1 ORDER BY key")?;
            let notes = select.query_map([beginning], |row| Ok((row.get(0)?, row.get(1)?)))?;
            Ok(notes.collect::<Result<_, _>>()?)
        })
    }

    /// Sets the value under a key.
    ///
    /// # Errors
    /// The value before stands. See [`StoreError`].
    pub fn set_meta(&self, key: &str, value: &str) -> Result<(), StoreError> {
        self.inner.database.write("keep a note", |transaction, _| set(transaction, key, value))
    }
}

pub(crate) fn set(transaction: &Transaction, key: &str, value: &str) -> Result<(), Cause> {
    transaction.execute(
        "INSERT INTO meta (key, value) VALUES (?1, ?2) ON CONFLICT (key) DO UPDATE SET value = ?2",
        params![key, value],
    )?;
    Ok(())
}

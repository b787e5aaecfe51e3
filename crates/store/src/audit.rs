//! Who changed what: kept for good.

use reading::Timestamp;
use rusqlite::params;

use crate::Store;
use crate::error::StoreError;

/// Something that somebody changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditEntry {
    /// Rises with each entry.
    pub id: i64,
    /// When, by the clock on the wall.
    pub time: Timestamp,
    /// Who.
    pub who: String,
    /// What, in words.
    pub what: String,
}

impl Store {
    /// Keeps who changed what.
    ///
    /// # Errors
    /// It is not kept. See [`StoreError`].
    pub fn record_audit(&self, time: Timestamp, who: &str, what: &str) -> Result<(), StoreError> {
        self.inner.database.write("keep who changed what", |transaction, _| {
            let mut insert = transaction.prepare_cached("INSERT INTO audit (time, who, what) VALUES (?1, ?2, ?3)")?;
            insert.execute(params![time.0, who, what])?;
            Ok(())
        })
    }

    /// Who changed what, the newest first, at most so many.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn audit(&self, limit: usize) -> Result<Vec<AuditEntry>, StoreError> {
        self.inner.database.read("list who changed what", |snapshot| {
            let mut select =
                snapshot.prepare_cached("SELECT id, time, who, what FROM audit ORDER BY id DESC LIMIT ?1")?;
            let entries = select.query_map([limit], |row| {
                Ok(AuditEntry { id: row.get(0)?, time: Timestamp(row.get(1)?), who: row.get(2)?, what: row.get(3)? })
            })?;
            Ok(entries.collect::<Result<_, _>>()?)
        })
    }
}

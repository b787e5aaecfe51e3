//! Readings on their way in: live ones, and history.

use reading::{Reading, Value};
use rusqlite::{Transaction, params};

use crate::Store;
use crate::error::{Cause, StoreError};
use crate::meta;
use crate::quarantine::{self, Quarantined};
use crate::sealed_keys::SealedKeys;
use crate::segment::{Row, Segments};
use crate::tags::TagId;

/// History goes in by transactions of this size: large enough to be quick, small enough that live
/// readings, which wait for their acknowledgement, get their turn in between.
const LOAD_ROWS: usize = 20_000;

/// What became of the readings handed over.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Committed {
    /// For each reading, in order: whether it was new.
    pub new: Vec<bool>,
    /// How many were new and are stored now.
    pub stored: usize,
    /// How many were there already, by tag and time.
    pub already_there: usize,
}

impl Store {
    /// Stores readings, and payloads that gave none, in one transaction that is on the disk when
    /// this returns.
    ///
    /// The key is tag and time: a reading whose key is already there, hot or sealed, changes
    /// nothing, whatever its value.
    ///
    /// # Errors
    /// Nothing at all was stored, and everything may be handed over again. See [`StoreError`].
    pub fn commit(&self, readings: &[Reading], quarantined: &[Quarantined]) -> Result<Committed, StoreError> {
        self.commit_noting(readings, quarantined, &[])
    }

    /// The same, with [notes](Self::set_meta) (key and value) of what was learned of the same messages: all of it is
    /// stored, or none.
    ///
    /// # Errors
    /// See [`commit`](Self::commit).
    pub fn commit_noting(
        &self,
        readings: &[Reading],
        quarantined: &[Quarantined],
        notes: &[(String, String)],
    ) -> Result<Committed, StoreError> {
        self.inner.database.write("store readings", |transaction, sealed| {
            quarantine::add(transaction, quarantined)?;
            for (key, value) in notes {
                meta::set(transaction, key, value)?;
            }
            self.insert(transaction, sealed, readings)
        })
    }

    /// Stores history: the same as [`commit`](Self::commit), but in several transactions, so that
    /// live readings are not held up. Call [`seal`](Self::seal) now and then on a long load.
    ///
    /// # Errors
    /// A beginning of the readings may have been stored; handing all over again stores the rest.
    pub fn load(&self, readings: &[Reading]) -> Result<Committed, StoreError> {
        let mut whole = Committed { new: Vec::with_capacity(readings.len()), ..Committed::default() };
        for part in readings.chunks(LOAD_ROWS) {
            let part = self.commit(part, &[])?;
            whole.new.extend(part.new);
            whole.stored += part.stored;
            whole.already_there += part.already_there;
        }
        Ok(whole)
    }

    pub(crate) fn insert(
        &self,
        transaction: &Transaction,
        sealed: &mut SealedKeys,
        readings: &[Reading],
    ) -> Result<Committed, Cause> {
        let mut inserter = Inserter::begin(transaction, sealed, &self.inner.segments)?;
        let mut new = Vec::with_capacity(readings.len());
        for reading in readings {
            let tag = self.inner.tags.of_signal(reading.signal)?;
            let row = Row { time: reading.time.0, value: reading.value.clone(), quality: reading.quality.code() };
            new.push(inserter.insert(tag, &row)?);
        }
        let stored = new.iter().filter(|new| **new).count();
        Ok(Committed { already_there: new.len() - stored, stored, new })
    }
}

/// Inserts rows that are neither hot nor sealed yet.
pub(crate) struct Inserter<'a> {
    transaction: &'a Transaction<'a>,
    statement: rusqlite::CachedStatement<'a>,
    sealed: &'a mut SealedKeys,
    segments: &'a Segments,
}

impl<'a> Inserter<'a> {
    pub(crate) fn begin(
        transaction: &'a Transaction<'a>,
        sealed: &'a mut SealedKeys,
        segments: &'a Segments,
    ) -> Result<Self, Cause> {
        sealed.refresh(transaction)?;
        let statement = transaction.prepare_cached(
            "INSERT INTO reading (tag, time, number, text, quality) VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT (tag, time) DO NOTHING",
        )?;
        Ok(Self { transaction, statement, sealed, segments })
    }

    /// Whether the row was new.
    pub(crate) fn insert(&mut self, tag: TagId, row: &Row) -> Result<bool, Cause> {
        if self.sealed.contains(self.transaction, self.segments, tag, row.time)? {
            return Ok(false);
        }
        let (number, text) = match &row.value {
            Value::Number(number) => (Some(number), None),
            Value::Text(text) => (None, Some(text)),
        };
        Ok(self.statement.execute(params![tag, row.time, number, text, row.quality])? == 1)
    }
}

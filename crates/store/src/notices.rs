//! Notices: what each receiver was told of an alert, and what waits to be told.
//!
//! Of one alert at most one notice waits for a receiver: a newer one takes its place. What is told is decided by the
//! owner of the rules, on the changes of alerts since the receiver's last look, and written together with how far that
//! look went: a crash at any line forgets both or neither.

use reading::Timestamp;
use rusqlite::{Connection, OptionalExtension, Row, Transaction, params};

use crate::Store;
use crate::alerts::{AlertRecord, alert};
use crate::error::{Cause, StoreError};

/// A step in the life of an alert.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AlertStep {
    /// The number of the change.
    pub number: i64,
    /// The state before it; `None` if the alert began with it.
    pub from: Option<String>,
    /// The state after it.
    pub to: String,
    /// The alert as it is now.
    pub alert: AlertRecord,
}

/// What a receiver was told of an alert, and what waits for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoticeRecord {
    /// The alert's id.
    pub alert: String,
    /// What it was told last; `None` before the first time.
    pub told: Option<String>,
    /// What waits for it.
    pub waiting: Option<WaitingNotice>,
}

/// A notice that waits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WaitingNotice {
    /// Its id, which it keeps through all attempts.
    pub id: String,
    /// What it tells.
    pub event: String,
    /// From when on it may be told.
    pub due: Timestamp,
    /// How often that failed.
    pub attempts: u32,
    /// From when on to try again; `due` before the first attempt.
    pub next_attempt: Timestamp,
}

impl Store {
    /// Takes note of who is to be told of alerts. A receiver that is new hears of what happens from now on; one that is
    /// no longer named is forgotten, with what waited for it.
    ///
    /// # Errors
    /// Nothing was changed. See [`StoreError`].
    pub fn keep_receivers(&self, names: &[&str]) -> Result<(), StoreError> {
        self.inner.database.write("note the receivers of notices", |transaction, _| {
            let mut known = transaction.prepare_cached("SELECT name FROM notice_receiver")?;
            let known = known.query_map([], |row| row.get::<_, String>(0))?.collect::<Result<Vec<_>, _>>()?;
            for gone in known.iter().filter(|name| !names.contains(&name.as_str())) {
                transaction.execute("DELETE FROM notice WHERE receiver = ?1", [gone])?;
                transaction.execute("DELETE FROM notice_receiver WHERE name = ?1", [gone])?;
            }
            let mut add = transaction.prepare_cached(
                "INSERT INTO notice_receiver (name, seen) VALUES (?1, (SELECT ifnull(max(id), 0) FROM alert_change))
                 ON CONFLICT DO NOTHING",
            )?;
            for name in names {
                add.execute([name])?;
            }
            Ok(())
        })
    }

    /// Decides what a receiver is told: takes what has happened to alerts since its last look, in order, at most so many
    /// steps, with what it knows of these alerts; writes what `decide` makes of that. Gives the number of steps.
    ///
    /// # Errors
    /// What `decide` refused, or a [`StoreError`]: nothing was changed.
    pub fn decide_notices<E: From<StoreError>>(
        &self,
        receiver: &str,
        limit: usize,
        decide: impl FnOnce(&[AlertStep], &[NoticeRecord]) -> Result<Vec<NoticeRecord>, E>,
    ) -> Result<usize, E> {
        let doing = "decide what is to be told";
        // Looked at first without keeping anyone from writing: mostly there is nothing to do.
        if self.inner.database.read(doing, |snapshot| steps(snapshot, receiver, 1))?.is_empty() {
            return Ok(0);
        }
        self.inner.database.write(doing, |transaction, _| {
            let steps = steps(transaction, receiver, limit)?;
            let known = known(transaction, receiver, &steps)?;
            let records = match decide(&steps, &known) {
                Ok(records) => records,
                Err(refusal) => return Ok(Err(refusal)),
            };
            for record in &records {
                put(transaction, receiver, record)?;
            }
            if let Some(last) = steps.last() {
                let seen = params![receiver, last.number];
                transaction.execute("UPDATE notice_receiver SET seen = ?2 WHERE name = ?1", seen)?;
            }
            Ok(Ok(steps.len()))
        })?
    }

    /// What is to be told to a receiver now, with the alerts as they are: what was never tried before what failed, then
    /// in the order in which it was due.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn due_notices(&self, receiver: &str, now: Timestamp) -> Result<Vec<(WaitingNotice, AlertRecord)>, StoreError> {
        self.inner.database.read("read what is to be told", |snapshot| {
            let mut select = snapshot.prepare_cached(
                "SELECT alert.id, line, kind, state, began, raised, ended, json,
                        notice.id, event, due, attempts, next_attempt
                 FROM notice JOIN alert ON alert.id = notice.alert
                 WHERE receiver = ?1 AND due <= ?2 AND next_attempt <= ?2 ORDER BY attempts, due, notice.id",
            )?;
            let due = select.query_map(params![receiver, now.0], |row| Ok((waiting(row, 8)?, alert(row)?)))?;
            Ok(due.collect::<Result<_, _>>()?)
        })
    }

    /// A receiver took these notices, or refuses them for good. What it knows of an alert that is over is forgotten:
    /// `last` is the name of the event after which nothing more is told.
    ///
    /// # Errors
    /// They will be told again. See [`StoreError`].
    pub fn notices_told(&self, receiver: &str, ids: &[&str], last: &str) -> Result<(), StoreError> {
        self.inner.database.write("note what was told", |transaction, _| {
            let mut forget =
                transaction.prepare_cached("DELETE FROM notice WHERE receiver = ?1 AND id = ?2 AND event = ?3")?;
            let mut told = transaction.prepare_cached(
                "UPDATE notice SET told = event, id = NULL, event = NULL, due = NULL, attempts = NULL, next_attempt = NULL
                 WHERE receiver = ?1 AND id = ?2",
            )?;
            for id in ids {
                if forget.execute(params![receiver, id, last])? == 0 {
                    told.execute(params![receiver, id])?;
                }
            }
            Ok(())
        })
    }

    /// An attempt to tell these notices failed; the next one is made at `next_attempt`.
    ///
    /// # Errors
    /// They are tried again at once. See [`StoreError`].
    pub fn postpone_notices(&self, receiver: &str, ids: &[&str], next_attempt: Timestamp) -> Result<(), StoreError> {
        self.inner.database.write("postpone what is to be told", |transaction, _| {
            let mut postpone = transaction.prepare_cached(
                "UPDATE notice SET attempts = attempts + 1, next_attempt = ?3 WHERE receiver = ?1 AND id = ?2",
            )?;
            for id in ids {
                postpone.execute(params![receiver, id, next_attempt.0])?;
            }
            Ok(())
        })
    }

    /// How many notices wait, for whomever.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn notices_waiting(&self) -> Result<usize, StoreError> {
        self.inner.database.read("count what is to be told", |snapshot| {
            Ok(snapshot.query_row("SELECT count(id) FROM notice", [], |row| row.get(0))?)
        })
    }
}

/// The steps that a receiver has not seen.
fn steps(connection: &Connection, receiver: &str, limit: usize) -> Result<Vec<AlertStep>, Cause> {
    let mut select = connection.prepare_cached(
        "SELECT alert.id, line, kind, alert.state, began, raised, ended, json, step.id, step.state,
                (SELECT state FROM alert_change AS before
                 WHERE before.alert = step.alert AND before.id < step.id ORDER BY before.id DESC LIMIT 1)
         FROM alert_change AS step JOIN alert ON alert.id = step.alert
         WHERE step.id > (SELECT seen FROM notice_receiver WHERE name = ?1) ORDER BY step.id LIMIT ?2",
    )?;
    let steps = select.query_map(params![receiver, limit], |row| {
        Ok(AlertStep { number: row.get(8)?, from: row.get(10)?, to: row.get(9)?, alert: alert(row)? })
    })?;
    Ok(steps.collect::<Result<_, _>>()?)
}

/// What a receiver knows of the alerts of these steps.
fn known(transaction: &Transaction, receiver: &str, steps: &[AlertStep]) -> Result<Vec<NoticeRecord>, Cause> {
    let mut alerts: Vec<&str> = steps.iter().map(|step| step.alert.id.as_str()).collect();
    alerts.sort_unstable();
    alerts.dedup();
    let mut select = transaction.prepare_cached(
        "SELECT alert, told, id, event, due, attempts, next_attempt FROM notice WHERE receiver = ?1 AND alert = ?2",
    )?;
    let mut known = Vec::new();
    for alert in alerts {
        let record = select.query_row(params![receiver, alert], |row| {
            let waits = row.get::<_, Option<String>>(2)?.is_some();
            let waiting = if waits { Some(waiting(row, 2)?) } else { None };
            Ok(NoticeRecord { alert: row.get(0)?, told: row.get(1)?, waiting })
        });
        known.extend(record.optional()?);
    }
    Ok(known)
}

/// Writes what a receiver knows; nothing at all is no row.
fn put(transaction: &Transaction, receiver: &str, record: &NoticeRecord) -> Result<(), Cause> {
    let NoticeRecord { alert, told, waiting } = record;
    transaction.prepare_cached("DELETE FROM notice WHERE receiver = ?1 AND alert = ?2")?.execute([receiver, alert])?;
    if told.is_none() && waiting.is_none() {
        return Ok(());
    }
    let mut insert = transaction.prepare_cached(
        "INSERT INTO notice (receiver, alert, told, id, event, due, attempts, next_attempt)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    )?;
    let waiting = waiting.as_ref();
    insert.execute(params![
        receiver,
        alert,
        told,
        waiting.map(|notice| &notice.id),
        waiting.map(|notice| &notice.event),
        waiting.map(|notice| notice.due.0),
        waiting.map(|notice| notice.attempts),
        waiting.map(|notice| notice.next_attempt.0)
    ])?;
    Ok(())
}

/// A waiting notice, whose columns begin at `first`.
fn waiting(row: &Row, first: usize) -> rusqlite::Result<WaitingNotice> {
    Ok(WaitingNotice {
        id: row.get(first)?,
        event: row.get(first + 1)?,
        due: Timestamp(row.get(first + 2)?),
        attempts: row.get(first + 3)?,
        next_attempt: Timestamp(row.get(first + 4)?),
    })
}

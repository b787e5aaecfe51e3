//! Changes of alerts: decided on what is stored, and written with the messages that tell of them, in one
//! transaction. So detection, which ends an alert, and a person who answers it from another process at the
//! same moment both count, whoever comes first.

use reading::Timestamp;
use rusqlite::{Row, Transaction, params};

use crate::Store;
use crate::alerts::{AlertChange, AlertRecord, alert};
use crate::error::{Cause, StoreError};
use crate::outbox::{self, OutboxMessage};

/// A kind of alert that calls nobody on a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SuppressionRecord {
    /// The line's id.
    pub line: String,
    /// What kind of alert.
    pub kind: String,
    /// Since when.
    pub since: Timestamp,
    /// Until when, where it ends by itself.
    pub until: Option<Timestamp>,
    /// Why.
    pub reason: String,
    /// Who wanted it so.
    pub who: String,
}

/// The end of what keeps a kind of alert quiet on a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SuppressionEnd {
    /// The line's id.
    pub line: String,
    /// What kind of alert.
    pub kind: String,
    /// When.
    pub time: Timestamp,
    /// Who ended it: a user, or the service itself.
    pub who: String,
}

/// What a change of alerts is decided on.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct AlertBook {
    /// The alerts that stand and those asked for by id, in the order in which they were raised.
    pub alerts: Vec<AlertRecord>,
    /// What is kept quiet, by line and kind.
    pub suppressions: Vec<SuppressionRecord>,
}

/// A change of alerts.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct AlertUpdate {
    /// Alerts, new or changed, each with what was done.
    pub alerts: Vec<(AlertRecord, AlertChange)>,
    /// What is no longer kept quiet.
    pub released: Vec<SuppressionEnd>,
    /// What is kept quiet from now on; there must be nothing in force for its line and kind any more.
    pub suppressed: Vec<SuppressionRecord>,
    /// What tells of it.
    pub messages: Vec<OutboxMessage>,
}

impl Store {
    /// Changes alerts: reads those that stand and those of these ids, asks `decide` what is to become of
    /// them, and writes that; nothing else is written in between. What else `decide` gives is handed on.
    ///
    /// # Errors
    /// What `decide` refused, or a [`StoreError`]: nothing was changed.
    pub fn change_alerts<T, E: From<StoreError>>(
        &self,
        ids: &[&str],
        decide: impl FnOnce(&AlertBook) -> Result<(AlertUpdate, T), E>,
    ) -> Result<T, E> {
        self.inner.database.write("change alerts", |transaction, _| {
            match decide(&AlertBook::read(transaction, ids)?) {
                Ok((update, told)) => {
                    update.write(transaction)?;
                    Ok(Ok(told))
                }
                Err(refusal) => Ok(Err(refusal)),
            }
        })?
    }

    /// The alerts that stand and what is kept quiet, as of one moment.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn alert_book(&self) -> Result<AlertBook, StoreError> {
        self.inner.database.read("read alerts and what is kept quiet", |snapshot| AlertBook::read(snapshot, &[]))
    }
}

impl AlertBook {
    fn read(transaction: &Transaction, ids: &[&str]) -> Result<Self, Cause> {
        let mut standing = transaction.prepare_cached(
            "SELECT id, line, kind, state, began, raised, ended, json FROM alert
             WHERE ended IS NULL ORDER BY raised, id",
        )?;
        let mut alerts = standing.query_map([], alert)?.collect::<Result<Vec<_>, _>>()?;
        let mut over = transaction.prepare_cached(
            "SELECT id, line, kind, state, began, raised, ended, json FROM alert
             WHERE id = ?1 AND ended IS NOT NULL",
        )?;
        for id in ids {
            alerts.extend(over.query_map([id], alert)?.collect::<Result<Vec<_>, _>>()?);
        }
        alerts.sort_by(|a, b| (a.raised, &a.id).cmp(&(b.raised, &b.id)));
        let mut in_force = transaction.prepare_cached(
            "SELECT line, kind, since, until, reason, who FROM suppression WHERE ended IS NULL ORDER BY line, kind",
        )?;
        let suppressions = in_force.query_map([], suppression)?.collect::<Result<_, _>>()?;
        Ok(Self { alerts, suppressions })
    }
}

impl AlertUpdate {
    fn write(&self, transaction: &Transaction) -> Result<(), Cause> {
        let mut put = transaction.prepare_cached(
            "INSERT INTO alert (id, line, kind, state, began, raised, ended, json) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)
             ON CONFLICT (id) DO UPDATE SET line = ?2, kind = ?3, state = ?4, began = ?5, raised = ?6, ended = ?7, json = ?8",
        )?;
        let mut note = transaction
            .prepare_cached("INSERT INTO alert_change (alert, time, who, what, state) VALUES (?1, ?2, ?3, ?4, ?5)")?;
        for (alert, change) in &self.alerts {
            put.execute(params![
                alert.id,
                alert.line,
                alert.kind,
                alert.state,
                alert.began.0,
                alert.raised.0,
                alert.ended.map(|time| time.0),
                alert.json
            ])?;
            note.execute(params![alert.id, change.time.0, change.who, change.what, change.state])?;
        }
        let mut release = transaction.prepare_cached(
            "UPDATE suppression SET ended = ?3, ended_by = ?4 WHERE line = ?1 AND kind = ?2 AND ended IS NULL",
        )?;
        for end in &self.released {
            release.execute(params![end.line, end.kind, end.time.0, end.who])?;
        }
        let mut suppress = transaction.prepare_cached(
            "INSERT INTO suppression (line, kind, since, until, reason, who) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        )?;
        for begun in &self.suppressed {
            let until = begun.until.map(|time| time.0);
            suppress.execute(params![begun.line, begun.kind, begun.since.0, until, begun.reason, begun.who])?;
        }
        outbox::enqueue(transaction, &self.messages)
    }
}

fn suppression(row: &Row) -> rusqlite::Result<SuppressionRecord> {
    Ok(SuppressionRecord {
        line: row.get(0)?,
        kind: row.get(1)?,
        since: Timestamp(row.get(2)?),
        until: row.get::<_, Option<i64>>(3)?.map(Timestamp),
        reason: row.get(4)?,
        who: row.get(5)?,
    })
}

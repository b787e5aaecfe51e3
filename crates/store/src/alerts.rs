//! Alerts and the history of their states, as they are read.

use reading::Timestamp;
use rusqlite::{OptionalExtension, Row, params};
use serde::Serialize;

use crate::Store;
use crate::error::StoreError;

/// An alert as it is kept. What it says is its owner's, in `json`; beside it stands what is asked
/// for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AlertRecord {
    /// Given by the owner, once.
    pub id: String,
    /// The line's id.
    pub line: String,
    /// What kind of alert.
    pub kind: String,
    /// Its present state.
    pub state: String,
    /// When its cause began, in event time.
    pub began: Timestamp,
    /// When it was raised, in event time.
    pub raised: Timestamp,
    /// When it was over; `None` while it stands.
    pub ended: Option<Timestamp>,
    /// The whole alert.
    pub json: String,
}

/// One change of an alert's state.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AlertChange {
    /// When.
    pub time: Timestamp,
    /// Who did it: a user, or the service itself.
    pub who: String,
    /// What was done, with the reason where one was given.
    pub what: String,
    /// The alert's state from then on; empty where a program older than this field stored it.
    pub state: String,
}

/// Which alerts are asked for; what is not set does not matter.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct AlertQuery {
    /// Raised at this time or later.
    pub from: Option<Timestamp>,
    /// Raised before this time.
    pub to: Option<Timestamp>,
    /// The line's id.
    pub line: Option<String>,
    /// The state.
    pub state: Option<String>,
}

impl Store {
    /// The alerts asked for, in the order in which they were raised.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn alerts(&self, query: &AlertQuery) -> Result<Vec<AlertRecord>, StoreError> {
        self.inner.database.read("list alerts", |snapshot| {
            let mut select = snapshot.prepare_cached(
                "SELECT id, line, kind, state, began, raised, ended, json FROM alert
                 WHERE raised >= ifnull(?1, raised) AND (?2 IS NULL OR raised < ?2)
                   AND line = ifnull(?3, line) AND state = ifnull(?4, state)
                 ORDER BY raised, id",
            )?;
            let (from, to) = (query.from.map(|time| time.0), query.to.map(|time| time.0));
            let alerts = select.query_map(params![from, to, query.line, query.state], alert)?;
            Ok(alerts.collect::<Result<_, _>>()?)
        })
    }

    /// The alerts asked for, the newest first, at most so many: those that come after the one of this id, if it is
    /// named. None after an id that is not kept.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn newest_alerts(
        &self,
        query: &AlertQuery,
        standing: bool,
        after: Option<&str>,
        limit: usize,
    ) -> Result<Vec<AlertRecord>, StoreError> {
        self.inner.database.read("list the newest alerts", |snapshot| {
            let mut select = snapshot.prepare_cached(
                "SELECT id, line, kind, state, began, raised, ended, json FROM alert
                 WHERE raised >= ifnull(?1, raised) AND (?2 IS NULL OR raised < ?2)
                   AND line = ifnull(?3, line) AND state = ifnull(?4, state) AND (NOT ?5 OR ended IS NULL)
                   AND (?6 IS NULL OR (raised, id) < (SELECT raised, id FROM alert WHERE id = ?6))
                 ORDER BY raised DESC, id DESC LIMIT ?7",
            )?;
            let (from, to) = (query.from.map(|time| time.0), query.to.map(|time| time.0));
            let asked = params![from, to, query.line, query.state, standing, after, limit];
            Ok(select.query_map(asked, alert)?.collect::<Result<_, _>>()?)
        })
    }

    /// The alerts that are not over, in the order in which they were raised.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn standing_alerts(&self) -> Result<Vec<AlertRecord>, StoreError> {
        self.inner.database.read("list standing alerts", |snapshot| {
            let mut select = snapshot.prepare_cached(
                "SELECT id, line, kind, state, began, raised, ended, json FROM alert
                 WHERE ended IS NULL ORDER BY raised, id",
            )?;
            Ok(select.query_map([], alert)?.collect::<Result<_, _>>()?)
        })
    }

    /// The alerts whose id begins or ends like this, in the order in which they were raised.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn alerts_called(&self, part: &str) -> Result<Vec<AlertRecord>, StoreError> {
        self.inner.database.read("find an alert", |snapshot| {
            let mut select = snapshot.prepare_cached(
                "SELECT id, line, kind, state, began, raised, ended, json FROM alert
                 WHERE substr(id, 1, length(?1)) = ?1 OR substr(id, -length(?1)) = ?1 ORDER BY raised, id",
            )?;
            Ok(select.query_map([part], alert)?.collect::<Result<_, _>>()?)
        })
    }

    /// The number of the newest change of any alert; 0 before the first.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn newest_alert_change(&self) -> Result<i64, StoreError> {
        self.inner.database.read("number the changes of alerts", |snapshot| {
            let newest: Option<i64> = snapshot.query_row("SELECT max(id) FROM alert_change", [], |row| row.get(0))?;
            Ok(newest.unwrap_or(0))
        })
    }

    /// The changes of alerts after this number, in order, at most so many: each with its number and the alert as it
    /// is now.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn alert_changes(&self, after: i64, limit: usize) -> Result<Vec<(i64, AlertRecord)>, StoreError> {
        self.inner.database.read("list changes of alerts", |snapshot| {
            let mut select = snapshot.prepare_cached(
                "SELECT alert.id, line, kind, alert.state, began, raised, ended, json, alert_change.id
                 FROM alert_change JOIN alert ON alert.id = alert_change.alert
                 WHERE alert_change.id > ?1 ORDER BY alert_change.id LIMIT ?2",
            )?;
            let changes = select.query_map(params![after, limit], |row| Ok((row.get(8)?, alert(row)?)))?;
            Ok(changes.collect::<Result<_, _>>()?)
        })
    }

    /// Which alert changed with this number, and when; `None` if no change has it.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn alert_changed(&self, number: i64) -> Result<Option<(String, Timestamp)>, StoreError> {
        self.inner.database.read("find a change of an alert", |snapshot| {
            let mut select = snapshot.prepare_cached("SELECT alert, time FROM alert_change WHERE id = ?1")?;
            let changed = select.query_row([number], |row| Ok((row.get(0)?, Timestamp(row.get(1)?)))).optional()?;
            Ok(changed)
        })
    }

    /// The changes of an alert's state, in the order in which they were stored; none of an unknown
    /// alert.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn alert_history(&self, id: &str) -> Result<Vec<AlertChange>, StoreError> {
        self.inner.database.read("read an alert's history", |snapshot| {
            let mut select = snapshot
                .prepare_cached("SELECT time, who, what, state FROM alert_change WHERE alert = ?1 ORDER BY id")?;
            let changes = select.query_map([id], |row| {
                Ok(AlertChange {
                    time: Timestamp(row.get(0)?),
                    who: row.get(1)?,
                    what: row.get(2)?,
                    state: row.get(3)?,
                })
            })?;
            Ok(changes.collect::<Result<_, _>>()?)
        })
    }
}

pub(crate) fn alert(row: &Row) -> rusqlite::Result<AlertRecord> {
    Ok(AlertRecord {
        id: row.get(0)?,
        line: row.get(1)?,
        kind: row.get(2)?,
        state: row.get(3)?,
        began: Timestamp(row.get(4)?),
        raised: Timestamp(row.get(5)?),
        ended: row.get::<_, Option<i64>>(6)?.map(Timestamp),
        json: row.get(7)?,
    })
}

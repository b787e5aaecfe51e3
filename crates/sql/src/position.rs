//! How far a site's rows have come. It is kept beside the rows, so that a database that was restored or replaced says
//! itself what it lacks.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use reading::Timestamp;
use tokio_postgres::Row;

use crate::connection::Connection;
use crate::error::SqlError;
use crate::write::{ALERT, RATE_CHANGE, Table};

/// How far a site's rows have come.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Positions {
    until: HashMap<(String, String), Timestamp>,
    /// The last change of an alert that is here.
    pub alerts: Option<JournalPosition>,
}

/// A place in the journal of a service's alerts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JournalPosition {
    /// The number of the change; 0 before the first.
    pub number: i64,
    /// Which alert changed: another journal has another one there.
    pub alert: String,
    /// When.
    pub time: Timestamp,
}

impl Positions {
    /// Until when the shifts of a line are in this table; `None` if nothing was ever written.
    #[must_use]
    pub fn until(&self, table: &Table, line: &str) -> Option<Timestamp> {
        self.until.get(&(table.name.to_owned(), line.to_owned())).copied()
    }

    fn add(&mut self, row: &Row) -> Result<(), tokio_postgres::Error> {
        let (what, line): (String, String) = (row.try_get(0)?, row.try_get(1)?);
        let until = Timestamp::from(row.try_get::<_, DateTime<Utc>>(2)?);
        match row.try_get::<_, Option<i64>>(3)? {
            Some(number) if what == ALERT.name => {
                let alert = row.try_get::<_, Option<String>>(4)?.unwrap_or_default();
                self.alerts = Some(JournalPosition { number, alert, time: until });
            }
            _ => drop(self.until.insert((what, line), until)),
        }
        Ok(())
    }
}

impl Connection {
    /// How far the rows of a site have come.
    ///
    /// # Errors
    /// The database refused, or is gone.
    pub async fn positions(&self, site: &str) -> Result<Positions, SqlError> {
        let select = "SELECT what, line, until, change, alert FROM ovenward.position WHERE site = $1";
        let mut positions = Positions::default();
        for row in self.of_site(select, site).await? {
            positions.add(&row).map_err(|error| self.error(&error))?;
        }
        Ok(positions)
    }

    /// The whole records of a site's rate changes that are here, by id.
    ///
    /// # Errors
    /// The database refused, or is gone.
    pub async fn rate_changes(&self, site: &str) -> Result<HashMap<String, serde_json::Value>, SqlError> {
        let select = format!("SELECT id, document FROM ovenward.{} WHERE site = $1", RATE_CHANGE.name);
        let known = |row: Row| Ok((row.try_get(0)?, row.try_get(1)?));
        let rows = self.of_site(&select, site).await?;
        rows.into_iter().map(known).collect::<Result<_, _>>().map_err(|error| self.error(&error))
    }
}

/// A moment as the database takes it. Beyond the years of the calendar there are no readings.
pub(crate) fn utc(time: Timestamp) -> DateTime<Utc> {
    time.to_utc().unwrap_or_default()
}

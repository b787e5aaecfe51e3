//! Rows on their way into the tables: all of a batch, with the position that they reach, or nothing.

use reading::Timestamp;
use serde_json::{Map, Value};
use tokio_postgres::Transaction;
use tokio_postgres::types::{Json, ToSql};

use crate::address::Address;
use crate::connection::{Connection, answered};
use crate::error::SqlError;
use crate::position::{JournalPosition, utc};

/// A row: its columns by name, as JSON writes them.
pub type Row = Map<String, Value>;

/// A table of the schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Table {
    /// Its name.
    pub name: &'static str,
    /// The columns by which a row is known.
    key: &'static [&'static str],
}

/// Shift profiles.
pub const SHIFT: Table = Table { name: "shift", key: &["site", "line", "starts", "product", "zone"] };
/// Energy records of shifts.
pub const ENERGY: Table = Table { name: "energy", key: &["site", "line", "starts"] };
/// Alerts.
pub const ALERT: Table = Table { name: "alert", key: &["site", "id"] };
/// What was done about alerts.
pub const ALERT_CHANGE: Table = Table { name: "alert_change", key: &["site", "alert", "number"] };
/// Rate changes.
pub const RATE_CHANGE: Table = Table { name: "rate_change", key: &["site", "id"] };

/// The time of one line that rows are of.
#[derive(Debug, Clone, Copy)]
pub struct Stretch<'a> {
    /// The site's id.
    pub site: &'a str,
    /// The line's id.
    pub line: &'a str,
    /// Rows that start at this moment or later.
    pub from: Timestamp,
    /// Rows that start before this one.
    pub to: Timestamp,
}

/// Rows that are stored together. Without [`commit`](Self::commit) nothing is.
pub struct Batch<'a> {
    transaction: Transaction<'a>,
    address: Address,
}

impl Connection {
    /// Begins a batch.
    ///
    /// # Errors
    /// The database is gone.
    pub async fn begin(&mut self) -> Result<Batch<'_>, SqlError> {
        let address = self.address.clone();
        let transaction = answered(&address, self.client.transaction()).await?;
        Ok(Batch { transaction, address })
    }
}

impl Batch<'_> {
    /// Adds rows, or puts them in the place of those with the same key. Every row has the columns of the first, each at
    /// most once by its key. Columns that rows do not name stay as they are.
    ///
    /// # Errors
    /// The database refused, or is gone.
    pub async fn put(&self, table: &Table, rows: &[Row]) -> Result<(), SqlError> {
        let Some(first) = rows.first() else { return Ok(()) };
        let columns = list(first.keys(), |column| column);
        let (name, key) = (table.name, list(table.key, |column| column));
        let replaced = list(first.keys(), |column| format!("{column} = EXCLUDED.{column}"));
        let put = format!(
            "INSERT INTO ovenward.{name} ({columns})
             SELECT {columns} FROM json_populate_recordset(NULL::ovenward.{name}, $1)
             ON CONFLICT ({key}) DO UPDATE SET {replaced}"
        );
        self.run(&put, &[&Json(rows)]).await
    }

    /// Makes these the only rows of a line and time: those that are there and not among them go.
    ///
    /// # Errors
    /// The database refused, or is gone.
    pub async fn replace(&self, table: &Table, stretch: Stretch<'_>, rows: &[Row]) -> Result<(), SqlError> {
        let (name, key) = (table.name, list(table.key, |column| column));
        let drop_others = format!(
            "DELETE FROM ovenward.{name} WHERE site = $1 AND line = $2 AND starts >= $3 AND starts < $4
             AND ({key}) NOT IN (SELECT {key} FROM json_populate_recordset(NULL::ovenward.{name}, $5))"
        );
        let Stretch { site, line, from, to } = stretch;
        self.run(&drop_others, &[&site, &line, &utc(from), &utc(to), &Json(rows)]).await?;
        self.put(table, rows).await
    }

    /// Notes that every shift of a line that ended by then is in this table.
    ///
    /// # Errors
    /// The database refused, or is gone.
    pub async fn reach(&self, table: &Table, site: &str, line: &str, until: Timestamp) -> Result<(), SqlError> {
        self.note(&[&site, &table.name, &line, &utc(until), &None::<i64>, &None::<&str>]).await
    }

    /// Notes up to which change of the journal the alerts are here.
    ///
    /// # Errors
    /// The database refused, or is gone.
    pub async fn reach_change(&self, site: &str, reached: &JournalPosition) -> Result<(), SqlError> {
        let JournalPosition { number, alert, time } = reached;
        self.note(&[&site, &ALERT.name, &"", &utc(*time), &Some(*number), &Some(alert)]).await
    }

    async fn note(&self, columns: &[&(dyn ToSql + Sync)]) -> Result<(), SqlError> {
        let note =
            "INSERT INTO ovenward.position (site, what, line, until, change, alert) VALUES ($1, $2, $3, $4, $5, $6)
                    ON CONFLICT (site, what, line) DO UPDATE SET until = $4, change = $5, alert = $6";
        self.run(note, columns).await
    }

    /// Stores the batch.
    ///
    /// # Errors
    /// The database refused, or is gone: nothing was stored, or, if it went while it answered, all of it.
    pub async fn commit(self) -> Result<(), SqlError> {
        answered(&self.address, self.transaction.commit()).await
    }

    async fn run(&self, statement: &str, parameters: &[&(dyn ToSql + Sync)]) -> Result<(), SqlError> {
        answered(&self.address, self.transaction.execute(statement, parameters)).await.map(|_| ())
    }
}

/// Names in quotes with commas between them, each as `form` has it.
fn list<T: std::fmt::Display>(names: impl IntoIterator<Item = impl AsRef<str>>, form: impl Fn(String) -> T) -> String {
    let quoted = |name: &str| format!("\"{}\"", name.replace('"', "\"\""));
    let formed = names.into_iter().map(|name| form(quoted(name.as_ref())).to_string());
    formed.collect::<Vec<_>>().join(", ")
}

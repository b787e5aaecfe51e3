//! One query of somebody else's database, read chunk by chunk. Nothing is ever written there: every transaction is one
//! that the server itself keeps from writing.

use std::pin::pin;

use futures_util::TryStreamExt;
use reading::Timestamp;
use tokio_postgres::Statement;
use tokio_postgres::types::{ToSql, Type};

use crate::address::Address;
use crate::connection::Connection;
use crate::error::SqlError;
use crate::position::utc;
use crate::question::{self, Question};

/// A row of history in text, as a file has it. What is null is `None`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HistoryRow {
    /// RFC 3339, or a count since 1970.
    pub time: Option<String>,
    /// The tag.
    pub tag: Option<String>,
    /// The value.
    pub value: Option<String>,
    /// The quality, where the query has one.
    pub quality: Option<String>,
}

/// A database with history, and the query that reads it.
pub struct Historian {
    connection: Connection,
    question: Question,
    chunk: Statement,
}

impl Historian {
    /// Connects, and has the server look at the query: it gives `time`, `tag`, `value` and perhaps `quality`, of the time
    /// from `$1` on and before `$2`.
    ///
    /// # Errors
    /// What is in the way, or what is wrong with the query and what to write instead.
    pub async fn open(address: &Address, query: &str) -> Result<Self, SqlError> {
        let query = question::trimmed(query)?;
        let connection = Connection::open(address).await?;
        // The server's own settings must not round what it tells, nor read times by another clock.
        connection
            .run("SET default_transaction_read_only = on; SET TimeZone = 'UTC'; SET extra_float_digits = 3")
            .await?;
        let asked = connection.client.prepare_typed(query, &[Type::TIMESTAMPTZ, Type::TIMESTAMPTZ]).await;
        let asked = asked.map_err(|error| question::refused(&connection, query, &error))?;
        let question = Question::of(query, asked.columns(), asked.params().len())?;
        let chunk = connection.client.prepare_typed(&question.chunk(), &[Type::TIMESTAMPTZ, Type::TIMESTAMPTZ]).await;
        let chunk = chunk.map_err(|error| question::refused(&connection, query, &error))?;
        Ok(Self { connection, question, chunk })
    }

    /// The time of the oldest row before this moment, in text as in [`HistoryRow`]; `None` if there is none.
    ///
    /// # Errors
    /// The database refused, or is gone.
    pub async fn oldest(&mut self, before: Timestamp) -> Result<Option<String>, SqlError> {
        let address = self.connection.address.clone();
        let told = |error| SqlError::of(&address, &error);
        let transaction = self.connection.client.build_transaction().read_only(true).start().await.map_err(told)?;
        let (from, to) = (utc(Timestamp(0)), utc(before));
        let types: &[(&(dyn ToSql + Sync), Type)] = &[(&from, Type::TIMESTAMPTZ), (&to, Type::TIMESTAMPTZ)];
        let rows = transaction.query_typed(&self.question.oldest(), types).await.map_err(told)?;
        rows.first().map_or(Ok(None), |row| row.try_get(0)).map_err(told)
    }

    /// Hands the rows of `[from, to)` to `take` one by one, as they come: however many there are, few are in memory.
    ///
    /// # Errors
    /// The database refused, or is gone; or what `take` refused.
    pub async fn chunk<E: From<SqlError>>(
        &mut self,
        from: Timestamp,
        to: Timestamp,
        mut take: impl FnMut(HistoryRow) -> Result<(), E>,
    ) -> Result<(), E> {
        let address = self.connection.address.clone();
        let told = |error| SqlError::of(&address, &error);
        let transaction = self.connection.client.build_transaction().read_only(true).start().await.map_err(told)?;
        let bounds = [utc(from), utc(to)];
        let mut rows = pin!(transaction.query_raw(&self.chunk, bounds).await.map_err(told)?);
        while let Some(row) = rows.try_next().await.map_err(told)? {
            let text = |at: usize| row.try_get::<_, Option<String>>(at).map_err(told);
            take(HistoryRow { time: text(0)?, tag: text(1)?, value: text(2)?, quality: text(3)? })?;
        }
        Ok(())
    }
}

//! A connection that writes.

use std::time::Duration;

use tokio::task::JoinHandle;
use tokio_postgres::types::FromSqlOwned;
use tokio_postgres::{Client, NoTls, Row};
use tokio_postgres_rustls::MakeRustlsConnect;

use crate::address::Address;
use crate::error::SqlError;

/// A server that has not let us in by then does not.
const LET_IN: Duration = Duration::from_secs(15);
/// One that has not answered by then is left.
const ANSWERED: Duration = Duration::from_secs(30);

/// A connection to a database. It ends with its value, and a transaction that was not committed with it.
pub struct Connection {
    pub(crate) client: Client,
    pub(crate) address: Address,
    /// Carries what the client sends and receives.
    carrier: JoinHandle<()>,
}

impl Connection {
    /// Connects, and changes nothing.
    ///
    /// # Errors
    /// What is in the way, and who can put it right.
    pub async fn open(address: &Address) -> Result<Self, SqlError> {
        let opened = tokio::time::timeout(LET_IN, connected(address)).await;
        let (client, carrier) = opened.map_err(|_| SqlError::Unreachable {
            host: address.host(),
            reason: format!("it says nothing for {} s", LET_IN.as_secs()),
        })??;
        Ok(Self { client, address: address.clone(), carrier })
    }

    /// Runs statements that give nothing.
    pub(crate) async fn run(&self, statements: &str) -> Result<(), SqlError> {
        self.client.batch_execute(statements).await.map_err(|error| self.error(&error))
    }

    /// The one value that a question gives.
    pub(crate) async fn ask<T: FromSqlOwned>(&self, question: &str) -> Result<T, SqlError> {
        let answer = answered(&self.address, self.client.query_one(question, &[])).await?;
        answer.try_get(0).map_err(|error| self.error(&error))
    }

    /// The rows of a site.
    pub(crate) async fn of_site(&self, select: &str, site: &str) -> Result<Vec<Row>, SqlError> {
        answered(&self.address, self.client.query(select, &[&site])).await
    }

    /// What an error means here.
    pub(crate) fn error(&self, error: &tokio_postgres::Error) -> SqlError {
        SqlError::of(&self.address, error)
    }
}

/// What a server answers while rows are written. One that has stopped, or waits for somebody else's lock, must not make us
/// wait for ever without a word.
pub(crate) async fn answered<T>(
    address: &Address,
    answer: impl Future<Output = Result<T, tokio_postgres::Error>>,
) -> Result<T, SqlError> {
    match tokio::time::timeout(ANSWERED, answer).await {
        Ok(answer) => answer.map_err(|error| SqlError::of(address, &error)),
        Err(_) => {
            let reason = format!("it has not answered for {} s", ANSWERED.as_secs());
            Err(SqlError::Gone { host: address.host(), reason })
        }
    }
}

impl Drop for Connection {
    fn drop(&mut self) {
        self.carrier.abort();
    }
}

async fn connected(address: &Address) -> Result<(Client, JoinHandle<()>), SqlError> {
    let told = |error| SqlError::of(address, &error);
    // How the connection ended is told by the statement that it took with it.
    match &address.tls {
        Some(tls) => {
            let connector = MakeRustlsConnect::new(tls.clone());
            let (client, connection) = address.config.connect(connector).await.map_err(told)?;
            Ok((client, tokio::spawn(async move { drop(connection.await) })))
        }
        None => {
            let (client, connection) = address.config.connect(NoTls).await.map_err(told)?;
            Ok((client, tokio::spawn(async move { drop(connection.await) })))
        }
    }
}

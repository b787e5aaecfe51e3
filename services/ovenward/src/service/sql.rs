//! Keeps the database of `[sql]` as far as the store is. It has a pace of its own: intake and detection wait for none of
//! it, and a database that is away for days is brought what it lacks when it is back.

use std::sync::Arc;
use std::time::Duration;

use anyhow::Result;
use reading::Plant;
use sql::{Address, Connection};
use store::Store;
use tokio::sync::watch;

use super::figures::Figures;
use super::troubles::{Troubles, Work};
use super::until_true;
use crate::config::Settings;
use crate::database::DatabaseWriter;

/// How often to look whether there is something new.
const LOOK: Duration = Duration::from_secs(2);
/// How long a database that failed is left alone.
const LEFT_ALONE: Duration = Duration::from_secs(10);

/// Writes into the database.
pub(crate) struct SqlLoop {
    address: Address,
    writer: DatabaseWriter,
    figures: Arc<Figures>,
    troubles: Arc<Troubles>,
}

impl SqlLoop {
    /// `None` where the config names no database.
    pub(crate) fn new(
        settings: &Arc<Settings>,
        plant: &Arc<Plant>,
        store: &Store,
        figures: Arc<Figures>,
        troubles: Arc<Troubles>,
    ) -> Option<Self> {
        let what = settings.sql.clone()?;
        let address = what.address.clone();
        let writer = DatabaseWriter::new(settings.clone(), what, plant.clone(), store.clone());
        Some(Self { address, writer, figures, troubles })
    }

    /// Runs until told to stop. What is under way then is not committed, and written when the service is back.
    pub(crate) async fn run(this: Option<Self>, stop: watch::Receiver<bool>) {
        let keeping_up = async {
            match this {
                Some(this) => this.keep_up().await,
                None => std::future::pending().await,
            }
        };
        tokio::select! {
            () = keeping_up => {}
            () = until_true(stop) => {}
        }
    }

    async fn keep_up(mut self) {
        let mut connection = None;
        loop {
            let attempt = self.attempt(&mut connection).await;
            self.figures.set("ovenward_database_connected", if attempt.is_ok() { 1.0 } else { 0.0 });
            let pause = match self.troubles.note(Work::Database, attempt) {
                Some(true) => Duration::ZERO,
                Some(false) => LOOK,
                None => {
                    connection = None;
                    LEFT_ALONE
                }
            };
            tokio::time::sleep(pause).await;
        }
    }

    /// Writes what comes next; says whether there may be more.
    async fn attempt(&mut self, connection: &mut Option<Connection>) -> Result<bool> {
        if connection.is_none() {
            let mut opened = Connection::open(&self.address).await?;
            opened.migrate().await?;
            self.writer.connected();
            tracing::info!("writing into the database {}", self.address);
            *connection = Some(opened);
        }
        match connection {
            Some(connection) => self.writer.step(connection).await,
            None => Ok(false),
        }
    }
}

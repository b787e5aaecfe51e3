//! The tables, and the steps from one version of them to the next.

use refinery::{Migration, Runner};

use crate::connection::Connection;
use crate::error::SqlError;

/// One step for each version. A released step is never edited: a later version appends one.
const STEPS: &[(&str, &str)] = &[("V1__tables", include_str!("../../../deploy/postgres/V1__tables.sql"))];

/// Holds off other services that share the database while one of them takes steps: any number that nobody else uses.
const LOCK: i64 = 0x6f76_656e_7761_7264;

/// The newest version that this program knows.
pub(crate) fn newest() -> i32 {
    STEPS.len() as i32
}

impl Connection {
    /// Brings the tables, present or not, to the version of this program.
    ///
    /// # Errors
    /// The version there is newer, the user may not make tables, or the database is gone: nothing was changed.
    pub async fn migrate(&mut self) -> Result<(), SqlError> {
        if self.is_current().await? {
            return Ok(());
        }
        self.client.execute("SELECT pg_advisory_lock($1)", &[&LOCK]).await.map_err(|error| self.error(&error))?;
        let taken = self.take_steps().await;
        // A connection that is gone has released it.
        let _ = self.client.execute("SELECT pg_advisory_unlock($1)", &[&LOCK]).await;
        taken
    }

    async fn take_steps(&mut self) -> Result<(), SqlError> {
        // Somebody else may have taken them while we waited.
        if self.is_current().await? {
            return Ok(());
        }
        if !self.has_schema().await? {
            self.run("CREATE SCHEMA ovenward").await?;
        }
        let steps = STEPS.iter().map(|(name, sql)| Migration::unapplied(name, sql));
        let steps = steps.collect::<Result<Vec<_>, _>>().map_err(|error| self.failed(&error))?;
        let mut runner = Runner::new(&steps).set_grouped(true);
        runner.set_migration_table_name("ovenward.migration");
        let taken = runner.run_async(&mut self.client).await;
        taken.map(|_| ()).map_err(|error| self.failed(&error))
    }

    async fn is_current(&self) -> Result<bool, SqlError> {
        let (found, known) = (self.version().await?, newest());
        if found > known {
            return Err(SqlError::TooNew { database: self.address.to_string(), found, known });
        }
        Ok(found == known)
    }

    /// The version of the tables; 0 without any.
    pub(crate) async fn version(&self) -> Result<i32, SqlError> {
        let is_noted = "SELECT to_regclass('ovenward.migration') IS NOT NULL";
        if !self.ask::<bool>(is_noted).await? {
            return Ok(0);
        }
        self.ask("SELECT coalesce(max(version), 0) FROM ovenward.migration").await
    }

    pub(crate) async fn has_schema(&self) -> Result<bool, SqlError> {
        self.ask("SELECT to_regnamespace('ovenward') IS NOT NULL").await
    }

    /// What the database said through the library that takes the steps.
    fn failed(&self, error: &refinery::Error) -> SqlError {
        let causes = std::iter::successors(std::error::Error::source(error), |&cause| cause.source());
        match causes.into_iter().find_map(|cause| cause.downcast_ref::<tokio_postgres::Error>()) {
            Some(said) => self.error(said),
            None => SqlError::Refused { database: self.address.to_string(), reason: error.to_string() },
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_step_in_the_folder_is_taken_in_its_order_and_every_column_is_explained() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../deploy/postgres");
        let names = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
        let mut files: Vec<String> = names.filter(|name| name.starts_with('V')).collect();
        files.sort_by_key(|name| Migration::unapplied(name.trim_end_matches(".sql"), "").unwrap().version());
        assert_eq!(files, STEPS.iter().map(|(name, _)| format!("{name}.sql")).collect::<Vec<_>>());
        let numbers = STEPS.iter().map(|(name, sql)| Migration::unapplied(name, sql).unwrap().version());
        assert!(numbers.eq(1..=newest()), "the versions count from 1 without a hole");

        let all: String = STEPS.iter().map(|(_, sql)| *sql).collect();
        let mut table = "";
        let mut columns = 0;
        for line in all.lines() {
            if let Some(name) = line.strip_prefix("CREATE TABLE ovenward.") {
                table = name.trim_end_matches(" (");
                assert!(all.contains(&format!("COMMENT ON TABLE ovenward.{table} IS ")), "{table} is not explained");
            }
            let column = line.strip_prefix("    ").and_then(|line| line.split_whitespace().next());
            if let Some(column) = column.filter(|word| word.chars().all(|c| !c.is_ascii_uppercase())) {
                columns += 1;
                assert!(all.contains(&format!("COMMENT ON COLUMN ovenward.{table}.{column} IS ")), "{table}.{column}");
            }
        }
        assert!(columns > 100, "{columns}");
    }
}

//! The two ways to the database: one writer, and as many readers as there are readers at once.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use rusqlite::{Connection, Transaction, TransactionBehavior};

use crate::error::{Cause, StoreError};
use crate::schema;
use crate::sealed_keys::SealedKeys;

/// Another process (a backfill beside the service) may hold the database for the length of one of
/// its transactions.
const BUSY_TIMEOUT: Duration = Duration::from_secs(10);

/// More than the number of distinct statements in this crate.
const STATEMENTS: usize = 64;

/// Free space kept in the database and its log for what comes next; above it the files shrink.
const KEPT_BYTES: i64 = 64 << 20;

/// A snapshot whose file compaction has just replaced is taken again; more often than this in a
/// row only if the file is truly gone.
const SNAPSHOTS: usize = 5;

/// `hot.db`, for writing and reading.
pub(crate) struct Database {
    path: PathBuf,
    writer: Mutex<Writer>,
    readers: Mutex<Vec<Connection>>,
}

struct Writer {
    connection: Connection,
    sealed: SealedKeys,
    /// The failure after which nothing is written any more.
    refusal: Option<String>,
}

impl Database {
    pub(crate) fn open(path: &Path) -> Result<Self, Cause> {
        let mut connection = connect_writer(path)?;
        schema::migrate(&mut connection)?;
        let writer = Writer { connection, sealed: SealedKeys::default(), refusal: None };
        Ok(Self { path: path.to_owned(), writer: Mutex::new(writer), readers: Mutex::default() })
    }

    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// Runs a change in one transaction, durable when this returns; an error leaves nothing of it.
    pub(crate) fn write<T>(
        &self,
        doing: &'static str,
        change: impl FnOnce(&Transaction, &mut SealedKeys) -> Result<T, Cause>,
    ) -> Result<T, StoreError> {
        let mut writer = lock(&self.writer);
        let result = writer.write(change);
        if let Err(cause) = &result
            && cause.breaks_the_writer()
        {
            tracing::error!(%cause, file = %self.path.display(), "the store refuses to write from now on");
            writer.refusal = Some(cause.to_string());
        }
        result.map_err(|cause| cause.during(doing, &self.path))
    }

    /// Whether nothing is written any more until [`recover`](Self::recover) succeeds.
    pub(crate) fn refuses(&self) -> bool {
        lock(&self.writer).refusal.is_some()
    }

    /// Ends a refusal, if the disk can be trusted again.
    ///
    /// After a failed `fsync` the operating system may call pages clean that never reached the disk. So what the
    /// log holds is written into the database once more, and the disk asked anew, before a commit may rest on it.
    pub(crate) fn recover(&self) -> Result<(), StoreError> {
        let mut writer = lock(&self.writer);
        if writer.refusal.is_none() {
            return Ok(());
        }
        let settle = || {
            let connection = connect_writer(&self.path)?;
            let busy: bool = connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
            if busy { Err(Cause::Wrong("somebody reads what is to be made safe".into())) } else { Ok(connection) }
        };
        writer.connection = settle().map_err(|cause| cause.during("write again", &self.path))?;
        writer.sealed = SealedKeys::default();
        writer.refusal = None;
        lock(&self.readers).clear();
        Ok(())
    }

    /// Copies the database, as it is now, into a new file.
    pub(crate) fn copy_into(&self, path: &Path) -> Result<(), Cause> {
        connect(&self.path)?.execute("VACUUM INTO ?1", [path.to_string_lossy()])?;
        Ok(())
    }

    /// Gives the disk back what sealing has freed, apart from what the next hours need.
    pub(crate) fn shrink(&self) -> Result<(), StoreError> {
        let writer = lock(&self.writer);
        let pragma = |name| writer.connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0));
        let shrink = || -> rusqlite::Result<()> {
            let surplus = pragma("freelist_count")? - KEPT_BYTES / pragma("page_size")?;
            if surplus > 0 {
                let mut vacuum = writer.connection.prepare(&format!("PRAGMA incremental_vacuum({surplus})"))?;
                let mut pages = vacuum.query([])?;
                while pages.next()?.is_some() {}
            }
            Ok(())
        };
        shrink().map_err(|error| Cause::from(error).during("shrink the database", &self.path))
    }

    /// Shows one state of the database. Called again with a new snapshot if a file named by the
    /// last one was replaced meanwhile, so `look` starts from nothing each time.
    pub(crate) fn read<T>(
        &self,
        doing: &'static str,
        mut look: impl FnMut(&Transaction) -> Result<T, Cause>,
    ) -> Result<T, StoreError> {
        let pooled = lock(&self.readers).pop();
        let read = || {
            let mut connection = match pooled {
                Some(connection) => connection,
                None => connect_reader(&self.path)?,
            };
            let mut result = snapshot(&mut connection, &mut look);
            for _ in 1..SNAPSHOTS {
                match &result {
                    Err(cause) if cause.is_missing_file() => result = snapshot(&mut connection, &mut look),
                    _ => break,
                }
            }
            if result.is_ok() {
                lock(&self.readers).push(connection);
            }
            result
        };
        read().map_err(|cause: Cause| cause.during(doing, &self.path))
    }
}

#[cfg(test)]
impl Database {
    /// Makes the disk full for the database, or gives it room again.
    pub(crate) fn limit_pages(&self, pages: Option<i64>) {
        // The limit is never below the pages in use; 4,294,967,294 is SQLite's own.
        let limit = pages.unwrap_or(4_294_967_294);
        let set = lock(&self.writer).connection.query_row(&format!("PRAGMA max_page_count = {limit}"), [], |_| Ok(()));
        set.expect("a pragma");
    }

    pub(crate) fn make_writer_read_only(&self, only: bool) {
        lock(&self.writer).connection.pragma_update(None, "query_only", only).expect("a pragma");
    }
}

impl Writer {
    fn write<T>(&mut self, change: impl FnOnce(&Transaction, &mut SealedKeys) -> Result<T, Cause>) -> Result<T, Cause> {
        if let Some(failure) = &self.refusal {
            return Err(Cause::Refused(failure.clone()));
        }
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let value = change(&transaction, &mut self.sealed)?;
        transaction.commit()?;
        Ok(value)
    }
}

fn snapshot<T>(
    connection: &mut Connection,
    look: &mut impl FnMut(&Transaction) -> Result<T, Cause>,
) -> Result<T, Cause> {
    let transaction = connection.transaction()?;
    look(&transaction)
}

fn connect(path: &Path) -> Result<Connection, Cause> {
    let connection = Connection::open(path)?;
    connection.busy_timeout(BUSY_TIMEOUT)?;
    connection.set_prepared_statement_cache_capacity(STATEMENTS);
    Ok(connection)
}

fn connect_writer(path: &Path) -> Result<Connection, Cause> {
    let connection = connect(path)?;
    // Decided before the first table exists; afterwards it would need a rewrite of the file.
    connection.pragma_update(None, "auto_vacuum", "INCREMENTAL")?;
    connection.pragma_update(None, "journal_mode", "WAL")?;
    // Each commit is on the disk when it returns: acknowledgements to the broker rest on it.
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "journal_size_limit", KEPT_BYTES)?;
    Ok(connection)
}

fn connect_reader(path: &Path) -> Result<Connection, Cause> {
    let connection = connect(path)?;
    connection.pragma_update(None, "query_only", true)?;
    Ok(connection)
}

/// A panic elsewhere rolled its transaction back on the way out, so what the lock guards is whole.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

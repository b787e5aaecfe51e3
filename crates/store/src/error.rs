//! One public error, with what was being done, to which file, and why it failed.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use parquet::errors::ParquetError;
use rusqlite::ErrorCode;

/// Why the store could not do what it was asked.
///
/// Nothing that was acknowledged is lost by it, and what failed left no half of itself behind.
#[derive(Debug)]
pub struct StoreError {
    doing: &'static str,
    file: PathBuf,
    cause: Cause,
}

impl StoreError {
    /// Whether the disk, or the account's share of it, is full. The store is whole: the same call
    /// succeeds once there is room.
    #[must_use]
    pub fn is_disk_full(&self) -> bool {
        self.cause.is_disk_full()
    }

    /// Whether the same call may succeed later without the store being opened again: the disk is
    /// full, or another process holds the database for longer than is waited for.
    #[must_use]
    pub fn retryable(&self) -> bool {
        self.is_disk_full() || self.cause.is_busy()
    }

    /// Whether the store no longer writes because an earlier write met an I/O error. Only
    /// [`Store::recover`](crate::Store::recover), or opening it again, ends that.
    #[must_use]
    pub fn is_refusal(&self) -> bool {
        matches!(self.cause, Cause::Refused(_))
    }

    /// Why, to be told in another connection.
    pub(crate) fn into_cause(self) -> Cause {
        Cause::At(self.file, Box::new(self.cause))
    }

    /// The file concerned.
    #[must_use]
    pub fn file(&self) -> &Path {
        &self.file
    }
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "cannot {} ({}): {}", self.doing, self.file.display(), self.cause)?;
        if self.is_disk_full() {
            f.write_str("; make room on that disk, nothing already stored is lost")?;
        }
        Ok(())
    }
}

impl std::error::Error for StoreError {}

/// What went wrong, before it is known to whom it happened.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Cause {
    #[error("{0}")]
    Sqlite(#[from] rusqlite::Error),
    #[error("{0}")]
    Io(#[from] io::Error),
    #[error("{0}")]
    Parquet(#[from] ParquetError),
    #[error("{0}")]
    Arrow(#[from] arrow::error::ArrowError),
    #[error("the store refuses to write since this failed: {0}; look at the disk")]
    Refused(String),
    #[error("{0}")]
    Wrong(String),
    #[error("{1}")]
    At(PathBuf, Box<Cause>),
}

impl Cause {
    fn is_disk_full(&self) -> bool {
        let full =
            |error: &io::Error| matches!(error.kind(), io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded);
        match self {
            Self::Sqlite(error) => error.sqlite_error_code() == Some(ErrorCode::DiskFull),
            Self::At(_, cause) => cause.is_disk_full(),
            cause => cause.io().is_some_and(full),
        }
    }

    /// What the file system said, if it was the file system.
    pub(crate) fn io(&self) -> Option<&io::Error> {
        match self {
            Self::Io(error) => Some(error),
            Self::Parquet(ParquetError::External(error)) => error.downcast_ref(),
            Self::At(_, cause) => cause.io(),
            _ => None,
        }
    }

    fn is_busy(&self) -> bool {
        let Self::Sqlite(error) = self else { return false };
        matches!(error.sqlite_error_code(), Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked))
    }

    /// Whether the database can no longer be trusted to keep what it is given.
    pub(crate) fn breaks_the_writer(&self) -> bool {
        let Self::Sqlite(error) = self else { return false };
        matches!(
            error.sqlite_error_code(),
            Some(
                ErrorCode::SystemIoFailure
                    | ErrorCode::DatabaseCorrupt
                    | ErrorCode::NotADatabase
                    | ErrorCode::ReadOnly
                    | ErrorCode::CannotOpen
            )
        )
    }

    /// Whether a file that a snapshot names has gone: compaction replaced it in the meantime.
    pub(crate) fn is_missing_file(&self) -> bool {
        self.io().is_some_and(|error| error.kind() == io::ErrorKind::NotFound)
    }

    /// This cause in the words of the store's public error; `file` unless the cause names another.
    pub(crate) fn during(self, doing: &'static str, file: &Path) -> StoreError {
        match self {
            Self::At(file, cause) => StoreError { doing, file, cause: *cause },
            cause => StoreError { doing, file: file.to_owned(), cause },
        }
    }
}

/// Names the file to which something happened.
pub(crate) trait At<T> {
    fn at(self, file: &Path) -> Result<T, Cause>;
}

impl<T, E: Into<Cause>> At<T> for Result<T, E> {
    fn at(self, file: &Path) -> Result<T, Cause> {
        self.map_err(|error| Cause::At(file.to_owned(), Box::new(error.into())))
    }
}

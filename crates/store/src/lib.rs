//! Keeps readings, alerts and the outbox: SQLite for what is hot, Parquet for what is sealed.
//!
//! [`Store::commit`] puts readings into `hot.db` and returns when they are on the disk; only then
//! may they be acknowledged. [`Store::seal`] moves hours that are over into Parquet files that any
//! engine reads, and joins them to one file a line and day. [`Store::series`] and
//! [`Store::readings`] show both as one. What lies where, and what a crash leaves at each point,
//! is written in `FORMAT.md` beside this crate's manifest.
//!
//! Nothing here reads a clock: times come in with the readings or as arguments.

mod alert_book;
mod alerts;
mod audit;
mod backup;
mod commit;
mod connection;
mod disk;
mod error;
mod extent;
mod gap;
mod join;
mod meta;
mod notices;
mod open;
mod outbox;
mod quarantine;
mod rate_book;
mod readings;
mod retention;
mod schema;
mod seal;
mod sealed;
mod sealed_keys;
mod segment;
mod series;
mod tags;
#[cfg(test)]
mod tests;
mod text;
mod tidy;
mod verify;

pub use alert_book::{AlertBook, AlertUpdate, SuppressionEnd, SuppressionRecord};
pub use alerts::{AlertChange, AlertQuery, AlertRecord};
pub use audit::AuditEntry;
pub use backup::BackedUp;
pub use commit::Committed;
pub use error::StoreError;
pub use extent::Size;
pub use gap::{Gap, GapCause};
pub use notices::{AlertStep, NoticeRecord, WaitingNotice};
pub use open::Store;
pub use outbox::{OutboxMessage, Outgoing};
pub use quarantine::{QUARANTINE_AGE, QUARANTINE_PAYLOAD, QUARANTINE_ROWS, QuarantineEntry, Quarantined};
pub use rate_book::RateChangeRecord;
pub use readings::Readings;
pub use seal::{SEAL_AFTER, Sealed};
pub use sealed::SealedFile;
pub use tags::Tag;
pub use verify::Finding;

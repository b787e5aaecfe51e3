//! A PostgreSQL database: what the service records there, and the history it brings from there.
//!
//! ```text
//! Address ─▶ Connection ─ migrate ─▶ Batch: rows and the position they reach, in one transaction
//!       └──▶ Historian: one query of somebody else's database, read chunk by chunk, never written to
//!       └──▶ look: what is there and what we may, without changing anything
//! ```
//!
//! Rows come in as JSON objects whose keys are columns: what `--format json` prints is what is stored. The tables are
//! in `deploy/postgres`, in SQL that a database administrator reads.
//!
//! Deliberately absent: which rows there are, when they are written and how often is tried. That is the service's.

mod address;
mod connection;
mod error;
mod historian;
mod look;
mod position;
mod question;
mod schema;
mod tls;
mod write;

pub use address::{Address, AddressError};
pub use connection::Connection;
pub use error::SqlError;
pub use historian::{Historian, HistoryRow};
pub use look::{Look, SchemaState, look};
pub use position::{JournalPosition, Positions};
pub use write::{ALERT, ALERT_CHANGE, Batch, ENERGY, RATE_CHANGE, Row, SHIFT, Stretch, Table};

//! What of the store goes into the PostgreSQL database of `[sql]`.
//!
//! ```text
//! store ─ rows: what the commands print as JSON ─ writer: the next that is not there yet ─ sql::Batch
//! ```
//!
//! Where it stopped is kept in the database, in the transaction that writes the rows. The store is the queue: while the
//! database is away nothing is kept for it, and when it is back the next rows are read from the store.

mod rows;
mod writer;

pub(crate) use writer::{DatabaseWriter, finished};

//! The whole program beside a real PostgreSQL: what it writes there is what its commands print, whatever is killed or
//! away meanwhile; and what it reads there is never written to. The plant is simulated and everything in it invented.
#![allow(clippy::unwrap_used)]

mod absence;
mod access;
mod alerts;
mod content;
mod historian;
#[path = "../flow/plant.rs"]
#[allow(dead_code)] // The flow tests use more of it.
mod plant;
#[path = "../flow/process.rs"]
mod process;
mod query;
mod server;
mod shared;

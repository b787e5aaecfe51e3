//! What people and machines see of the running service over HTTP.
//!
//! Follow one request: [`serve`] listens and `connections` takes it, over TLS with a [`Certificate`]; `guard` refuses a foreign `Host` and adds the security
//! headers; `routes` answers from the newest [`PlantStatus`], `live` tells a browser that there is a newer
//! one, and `console` hands out the web console, which `build.rs` makes of services/console. `page` is the
//! plain status page for where there is no console: rendered in Rust, and its script only fetches the same
//! markup again. [`api`] is for programs, the console among them.
//!
//! Deliberately absent: any other crate of the workspace. The program hands over plain structs and answers
//! [`api::Answers`]; nothing here can reach the broker, the store or the plant by itself.

// The examples in the document of the API are long.
#![recursion_limit = "256"]

pub mod api;

mod certificate;
mod connections;
mod console;
mod guard;
mod html;
mod live;
mod page;
mod patient;
mod problem;
mod routes;
mod serve;
mod sheet;
pub mod sign_in;
mod status;

pub use certificate::{Certificate, CertificateError, TlsFiles};
pub use serve::{Metrics, ShiftSheet, Sources, serve};
pub use status::{
    BrokerStatus, LineStatus, PlantStatus, RejectedCount, ShiftLink, SpeedChanged, StoreStatus, SuppressionStatus,
    ZoneStatus,
};

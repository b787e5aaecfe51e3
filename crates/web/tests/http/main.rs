//! What goes over the wire.

#![allow(clippy::unwrap_used)]

#[path = "../../examples/sample/millbrook.rs"]
mod millbrook;
mod served;

mod console;
mod live;
mod page;
mod routes;

//! What goes over the wire.

#![allow(clippy::unwrap_used)]

#[path = "../../examples/sample/examples.rs"]
mod examples;
#[path = "../../examples/sample/millbrook.rs"]
mod millbrook;
mod served;

mod api;
mod console;
mod document;
mod live;
mod page;
mod people;
mod routes;
mod tls;

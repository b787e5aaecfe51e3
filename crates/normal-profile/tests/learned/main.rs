//! What is learned from an invented oven, and the statistics against outside values.
#![allow(clippy::unwrap_used)]

mod change;
mod departure;
mod file;
mod learn;
mod oven;
mod response;
mod slip;
mod statistics;

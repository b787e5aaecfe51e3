//! The whole program with a real broker: what the plant sends is stored once, and a day replayed
//! equals the day as it was lived. The plant is simulated and everything in it invented.
#![allow(clippy::unwrap_used)]

mod answer;
mod api;
mod bad_input;
mod certificate;
mod commands;
mod day;
mod encrypted;
mod energy;
mod explain;
mod history;
mod keeping;
mod lake;
mod plant;
mod process;
mod rate;
mod reload;
mod restore;
mod slip;
mod transit;
mod twice;
mod visitor;

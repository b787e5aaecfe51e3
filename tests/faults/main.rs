//! What goes wrong in a plant, done on purpose to the whole program with a real broker: whatever the broker took from
//! the plant is stored in the end, once. The plant is simulated and everything in it invented.
#![allow(clippy::unwrap_used)]

mod broker;
mod disk;
mod full_disk;
mod gate;
mod kill;
mod lost;
mod network;
#[path = "../flow/plant.rs"]
#[allow(dead_code)] // The flow tests use more of it.
mod plant;
#[path = "../flow/process.rs"]
mod process;
mod traffic;

//! Listens to tunnel ovens and says when one is overloaded.
//!
//! The program: command line, config file, supervision and wiring. What it wires together is in the
//! crates; here a reading is only carried from one to the next:
//!
//! ```text
//! broker ─▶ service::intake ─▶ store ─▶ service::detection ─▶ store (alerts, outbox) ─▶ service::outbox ─▶ broker
//! file   ─▶ history         ─▶ store | alert::Watch                                     service::view ─▶ web
//!                                                           store, normals, service::recent ─▶ api ─▶ web
//!                                                           store ─▶ database, at its own pace ─▶ PostgreSQL
//!                                                           store ─▶ service::notices ─▶ notice ─▶ people
//! ```
//!
//! [`service`] runs day and night, [`commands`] are what a person asks for, [`demo`] is a whole
//! bakery on one machine, [`history`] reads files of readings, `energy` makes records
//! of what is stored, `transit` looks at a logger's run, [`fits`] tells when a normal no longer fits, `lake_copy` brings
//! days that are over to the lake of all plants.

pub mod air;
mod alert_desk;
mod api;
mod backup;
pub mod balance_files;
mod certificates;
pub mod check;
pub mod cli;
pub mod commands;
pub mod config;
mod data_owner;
mod database;
pub mod demo;
mod edge_nodes;
mod energy;
pub mod failure;
pub mod fits;
pub mod history;
mod lake_copy;
pub mod normal_files;
mod rate_changes;
pub mod service;
pub mod stored;
mod table;
pub mod telemetry;
mod transit;

//! The plant's MQTT network: session, acknowledgement, publishing.
//!
//! A sensor message enters the program here. [`Intake`] keeps a session with the broker and hands
//! out each message as a [`Delivery`]; whoever has made it safe on disk returns its [`Token`] to the
//! [`Acknowledger`]. Until then the broker keeps the message, so that a crash at any moment loses
//! nothing: the worst case is a message delivered twice.
//!
//! ```text
//! broker ── PUBLISH ─▶ Link ─▶ Intake ── Delivery ─▶ (store) ── Token ─▶ Acknowledger ─▶ Ledger ── PUBACK ─▶ broker
//! broker ◀─ PUBLISH ── Link ◀─ Publisher ◀── publish() ── (outbox)          PUBACK ends publish()
//! ```
//!
//! What leaves the program goes through [`Publisher`], a second client of its own, so that a busy
//! intake never delays an alert and the broker's access list can tell the two apart.
//!
//! ```no_run
//! use std::sync::Arc;
//! use std::time::{SystemTime, UNIX_EPOCH};
//!
//! use broker::{Connection, ConnectError, Intake, IntakeEvent};
//!
//! # async fn example() -> Result<(), ConnectError> {
//! let connection = Connection::parse_url("mqtt://127.0.0.1:1883", "ovenward-millbrook")?;
//! let clock = Arc::new(|| SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_micros() as i64));
//! let mut intake = Intake::start(connection, vec!["mill/#".to_owned()], clock)?;
//! while let Some(event) = intake.events.recv().await {
//!     if let IntakeEvent::Delivered(deliveries) = event {
//!         // Make them safe first, then:
//!         intake.acknowledger.acknowledge(deliveries.iter().map(|delivery| delivery.token));
//!     }
//! }
//! # Ok(())
//! # }
//! ```
//!
//! Deliberately absent: payloads are not read here, topics are not given a meaning, nothing is kept
//! on disk. Each connection is one link that is thrown away when it breaks; nothing
//! of it (acknowledgements in its queue, publishes in flight) leaks into the next one. The broker and
//! the outbox are the two places that remember.

mod backoff;
mod certificate;
mod connect_error;
mod connection;
mod intake;
mod ledger;
mod link;
mod outlet;
mod publisher;
mod tls;
mod topic;

pub use connect_error::ConnectError;
pub use connection::{Connection, Secret};
pub use intake::{Clock, Delivery, Intake, IntakeEvent, IntakeStop, RefusedTopic};
pub use ledger::{Acknowledger, Token};
pub use link::{Answer, Protocol, Will, try_connect};
pub use publisher::{PublishError, Publisher, PublisherState};
pub use tls::CertificateEnd;

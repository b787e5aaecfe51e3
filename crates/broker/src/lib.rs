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
//! Deliberately absent: payloads are not read here, topics are not given a meaning, nothing is kept
//! on disk. Each connection is one [`Link`](link::Link) that is thrown away when it breaks; nothing
//! of it (acknowledgements in its queue, publishes in flight) leaks into the next one. The broker and
//! the outbox are the two places that remember.

mod backoff;
mod connection;
mod intake;
mod ledger;
mod link;
mod outlet;
mod publisher;
mod tls;
mod topic;

pub use connection::{ConnectError, Connection, Secret};
pub use intake::{Clock, Delivery, Intake, IntakeEvent, IntakeStop, RefusedTopic};
pub use ledger::{Acknowledger, Token};
pub use link::{Protocol, Will, try_connect};
pub use publisher::{PublishError, Publisher, PublisherState};

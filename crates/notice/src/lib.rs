//! Tells people: webhooks and mail, by who is on duty and what cannot wait.
//!
//! Follow one change of an alert: a receiver's [`Rule`] says whether it concerns the receiver and from when on it may be
//! told ([`Rule::decide`]); what is due at one moment goes together ([`letters`]); a [`Channel`] carries it, as a signed
//! POST ([`Webhook`]) or as a mail ([`Mail`]) that says line and finding in plain words. What is to be done about an
//! attempt that failed is in [`SendError`] and [`pause_after`].
//!
//! Rules, words and pictures know no clock and no network: time, shifts and names come in as arguments.
//!
//! Deliberately absent: the store. What was told and what waits is kept by whoever calls this.

mod backoff;
mod channel;
mod decision;
mod event;
mod letter;
mod mail;
mod rule;
mod secret;
mod send_error;
mod setup_error;
#[cfg(test)]
mod tests;
mod tls;
mod webhook;
mod words;

pub use backoff::pause_after;
pub use channel::{Channel, Notice, Receiver, letters};
pub use decision::{Decision, Known};
pub use event::Event;
pub use letter::Letter;
pub use mail::{Mail, MailServer, MailServerSettings, MailTls};
pub use rule::{Quiet, Rule};
pub use secret::Secret;
pub use send_error::SendError;
pub use setup_error::SetupError;
pub use webhook::Webhook;

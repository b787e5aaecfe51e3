//! Whom a notice reaches, and how.

use alert::{Alert, Priority};
use reading::{Plant, Timestamp};

use crate::event::Event;
use crate::mail::Mail;
use crate::rule::Rule;
use crate::send_error::SendError;
use crate::webhook::Webhook;

/// Somebody, or something, that is told of alerts.
#[derive(Debug, Clone)]
pub struct Receiver {
    /// What it is called in the store, the log and the figures.
    pub name: String,
    /// What it is told of, and when.
    pub rule: Rule,
    /// How it is told.
    pub channel: Channel,
}

/// How a receiver is told.
#[derive(Debug, Clone)]
pub enum Channel {
    /// By a signed POST, a notice at a time.
    Webhook(Webhook),
    /// By mail to one address.
    Mail(Mail),
}

/// Something to tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// It stays the same through all attempts, so that a receiver knows a repetition.
    pub id: String,
    /// What happened.
    pub event: Event,
    /// Since when it is to be told.
    pub due: Timestamp,
    /// How many attempts to tell it have failed.
    pub attempts: u32,
    /// The alert as it is now.
    pub alert: Alert,
}

impl Notice {
    /// Whether a person must look now: a high alert that stands.
    #[must_use]
    pub fn is_urgent(&self) -> bool {
        self.alert.priority == Priority::High && self.alert.stands()
    }
}

impl Channel {
    /// Sends what goes together, as [`letters`] has it; `now` is the time at the plant, `sent` the seconds since 1970 of
    /// the clock by which receivers judge signatures.
    ///
    /// # Errors
    /// The receiver did not take it.
    pub async fn send(&self, notices: &[Notice], plant: &Plant, now: Timestamp, sent: i64) -> Result<(), SendError> {
        match self {
            Self::Mail(mail) => mail.send(notices, plant, now).await,
            Self::Webhook(webhook) => {
                for notice in notices {
                    webhook.send(notice, sent).await?;
                }
                Ok(())
            }
        }
    }

    /// Connects as it would to send, and sends nothing; says whom it found.
    ///
    /// # Errors
    /// Why that failed.
    pub async fn try_connect(&self) -> Result<String, SendError> {
        match self {
            Self::Webhook(webhook) => webhook.try_connect().await,
            Self::Mail(mail) => mail.try_connect().await,
        }
    }
}

/// What goes together of what is due at one moment, the urgent first. A program is told one thing at a time. A person
/// gets a mail of its own for what is urgent; the rest, the end of a quiet time or of a server's absence, is one mail.
#[must_use]
pub fn letters(channel: &Channel, notices: Vec<Notice>) -> Vec<Vec<Notice>> {
    let (urgent, rest): (Vec<Notice>, Vec<Notice>) = notices.into_iter().partition(Notice::is_urgent);
    let single = |notice| vec![notice];
    let mut letters: Vec<Vec<Notice>> = urgent.into_iter().map(single).collect();
    match channel {
        Channel::Webhook(_) => letters.extend(rest.into_iter().map(single)),
        Channel::Mail(_) if rest.is_empty() => {}
        Channel::Mail(_) => letters.push(rest),
    }
    letters
}

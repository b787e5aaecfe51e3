//! Where alerts are kept: detection raises and ends them here, people answer them here.
//!
//! Every change is decided on what is stored, in the transaction that writes it, together with the
//! messages that tell of it. So it does not matter whether the service and a command run at the same time,
//! or the command alone: the service publishes what waits in the outbox.

mod answer;
mod calls;
mod suppress;
#[cfg(test)]
mod tests;

use std::sync::Arc;

use alert::{Alert, AlertState, Refusal, Suppression};
use reading::{Plant, Timestamp};
use store::{AlertBook, AlertChange, AlertRecord, AlertUpdate, OutboxMessage, Store, SuppressionRecord};

use crate::config::Settings;
use crate::failure::Failure;
use crate::service::{Topics, retained};

pub(crate) use calls::calls;
pub(crate) use suppress::{Scope, kind};

/// Who does what nobody asked for.
const SERVICE: &str = "ovenward";

/// Who does something and when.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Person<'a> {
    pub(crate) name: &'a str,
    pub(crate) now: Timestamp,
}

impl<'a> Person<'a> {
    /// Somebody with a name.
    ///
    /// # Errors
    /// The name is empty.
    pub(crate) fn new(name: &'a str, now: Timestamp) -> Result<Self, Failure> {
        let name = name.trim();
        if name.is_empty() {
            return Err(Failure::usage(format!("--by {}", Refusal::NoName)));
        }
        Ok(Self { name, now })
    }
}

/// Keeps alerts.
#[derive(Clone)]
pub(crate) struct AlertDesk {
    store: Store,
    plant: Arc<Plant>,
    topics: Topics,
}

impl AlertDesk {
    pub(crate) fn new(settings: &Settings, plant: Arc<Plant>, store: Store) -> Self {
        let topics = Topics::new(&settings.publish.root, &plant.site);
        Self { store, plant, topics }
    }

    /// Stores an alert that detection raises, shelved if its kind is; gives its state. One that is known
    /// already, since before a restart, stays as it is: `None`.
    pub(crate) fn raise(&self, alert: &Alert, now: Timestamp) -> anyhow::Result<Option<AlertState>> {
        self.store.change_alerts(&[&alert.id], |book| {
            if stored(book, &alert.id)?.is_some() {
                return Ok((AlertUpdate::default(), None));
            }
            let mut alert = alert.clone();
            let mut what = "raised".to_owned();
            let quiet =
                in_force(book, Scope { line: &alert.line, kind: alert.kind }).filter(|quiet| !quiet.is_over(now));
            if let Some(suppression) = quiet {
                alert.suppress(&suppression)?;
                what = format!("raised, {}", self.in_words(&suppression));
            }
            let mut update = AlertUpdate::default();
            self.note(&mut update, &alert, Person { name: SERVICE, now: alert.raised }, &what)?;
            Ok((update, Some(alert.state)))
        })
    }

    /// Ends an alert whose cause is gone, and leaves what people did about it. What does not stand stays
    /// as it is.
    pub(crate) fn end(&self, id: &str, now: Timestamp, what: &str) -> anyhow::Result<()> {
        self.store.change_alerts(&[id], |book| {
            let mut update = AlertUpdate::default();
            if let Some(mut alert) = stored(book, id)?.filter(Alert::stands) {
                alert.end(now);
                self.note(&mut update, &alert, Person { name: SERVICE, now }, what)?;
            }
            Ok((update, ()))
        })
    }

    /// Adds alerts that have changed, and the messages that tell of them.
    fn note_all(&self, update: &mut AlertUpdate, alerts: &[Alert], by: Person<'_>, what: &str) -> anyhow::Result<()> {
        alerts.iter().try_for_each(|alert| self.note(update, alert, by, what))
    }

    fn note(&self, update: &mut AlertUpdate, alert: &Alert, by: Person<'_>, what: &str) -> anyhow::Result<()> {
        let (line, state) = (&alert.line, alert.state.name());
        let json = serde_json::to_string(alert)?;
        // An empty message takes back the standing alert that the broker keeps.
        let standing = if alert.stands() { json.clone().into_bytes() } else { Vec::new() };
        let log =
            OutboxMessage { topic: self.topics.alert_log(line), payload: json.clone().into_bytes(), retain: false };
        update.messages.extend([retained(self.topics.alert(line, &alert.id), standing), log]);
        let record = AlertRecord {
            id: alert.id.clone(),
            line: line.to_string(),
            kind: alert.kind.name().into(),
            state: state.into(),
            began: alert.began,
            raised: alert.raised,
            ended: alert.ended,
            json,
        };
        update
            .alerts
            .push((record, AlertChange { time: by.now, who: by.name.into(), what: what.into(), state: state.into() }));
        Ok(())
    }

    /// What keeps a kind quiet, such as "shelved until 2026-11-02 14:30 by Ann: sensor is changed".
    pub(crate) fn in_words(&self, suppression: &Suppression) -> String {
        let how = match suppression.until {
            Some(until) => format!("shelved until {}", self.plant.shifts.date_and_time(until)),
            None => "out of service".into(),
        };
        format!("{how} by {}: {}", suppression.by, suppression.reason)
    }
}

/// An alert as it is stored.
fn stored(book: &AlertBook, id: &str) -> serde_json::Result<Option<Alert>> {
    let record = book.alerts.iter().find(|record| record.id == id);
    record.map(|record| serde_json::from_str(&record.json)).transpose()
}

/// What keeps a kind of alert quiet on a line.
fn in_force(book: &AlertBook, scope: Scope<'_>) -> Option<Suppression> {
    let of_scope = |record: &&SuppressionRecord| record.line == scope.line && record.kind == scope.kind.name();
    book.suppressions.iter().find(of_scope).map(suppression)
}

/// What is stored, as the rules know it.
pub(crate) fn suppression(record: &SuppressionRecord) -> Suppression {
    let SuppressionRecord { since, until, reason, who, .. } = record.clone();
    Suppression { since, until, reason, by: who }
}

/// What somebody wanted and may not have, after whom or what it is about.
fn refused(about: &str, why: impl std::fmt::Display) -> Failure {
    Failure::usage(format!("{about} {why}; nothing was changed"))
}

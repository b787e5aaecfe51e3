//! Kinds of alert that call nobody on a line: shelved, out of service, and back.

use alert::{Alert, AlertState, Forbidden, Kind, Suppression, Transition};
use anyhow::Context;
use reading::Timestamp;
use store::{AlertBook, AlertUpdate, SuppressionEnd, SuppressionRecord};

use super::{AlertDesk, Person, SERVICE, in_force, refused};
use crate::failure::Failure;

/// A kind of alert on a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Scope<'a> {
    pub(crate) line: &'a str,
    pub(crate) kind: Kind,
}

impl std::fmt::Display for Scope<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} on {}", self.kind.name(), self.line)
    }
}

impl AlertDesk {
    /// Keeps a kind quiet on a line, the alerts that stand and those to come; gives those that stand. A
    /// shelf replaces a shelf, out of service replaces either.
    ///
    /// # Errors
    /// It is out of service and was to be shelved, or the store cannot be used.
    pub(crate) fn suppress(&self, scope: Scope<'_>, suppression: &Suppression) -> Result<Vec<Alert>, Failure> {
        let by = Person { name: &suppression.by, now: suppression.since };
        self.store.change_alerts(&[], |book| {
            let before = in_force(book, scope).filter(|before| !before.is_over(by.now));
            let state = before.map_or(AlertState::Unacknowledged, |before| before.state());
            state.after(suppression.transition()).map_err(|why| refused(&scope.to_string(), why))?;
            let mut update = AlertUpdate::default();
            // Also one whose time is over and whose end nobody has noted yet.
            update.released.push(end_of(scope, by));
            update.suppressed.push(SuppressionRecord {
                line: scope.line.into(),
                kind: scope.kind.name().into(),
                since: suppression.since,
                until: suppression.until,
                reason: suppression.reason.clone(),
                who: suppression.by.clone(),
            });
            let alerts = standing(book, scope, |alert| alert.suppress(suppression))?;
            self.note_all(&mut update, &alerts, by, &self.in_words(suppression))?;
            Ok((update, alerts))
        })
    }

    /// Lets a kind call again on a line; gives the alerts that stand and call anew.
    ///
    /// # Errors
    /// It is not kept quiet in this way, or the store cannot be used.
    pub(crate) fn release(&self, scope: Scope<'_>, how: Transition, by: Person<'_>) -> Result<Vec<Alert>, Failure> {
        self.store.change_alerts(&[], |book| {
            let state = in_force(book, scope).map_or(AlertState::Unacknowledged, |quiet| quiet.state());
            if state.after(how).is_err() {
                let why = match state {
                    AlertState::OutOfService => "is out of service, not shelved; write in-service",
                    AlertState::Shelved => "is shelved, not out of service; write unshelve",
                    _ => "calls already; `ovenward alerts suppressed` lists what does not",
                };
                return Err(refused(&scope.to_string(), why));
            }
            let mut update = AlertUpdate { released: vec![end_of(scope, by)], ..AlertUpdate::default() };
            let alerts = standing(book, scope, |alert| alert.release(how))?;
            let what = if how == Transition::Unshelve { "unshelved" } else { "put back in service" };
            self.note_all(&mut update, &alerts, by, what)?;
            Ok((update, alerts))
        })
    }

    /// Ends every shelf whose time is over; gives the alerts that stand and call anew.
    ///
    /// # Errors
    /// The store cannot be used.
    pub(crate) fn release_what_is_over(&self, now: Timestamp) -> anyhow::Result<Vec<Alert>> {
        let ended = |record: &SuppressionRecord| record.until.filter(|until| *until <= now);
        // Looked at first without keeping anyone from writing: mostly there is nothing to do.
        if !self.store.alert_book()?.suppressions.iter().any(|record| ended(record).is_some()) {
            return Ok(Vec::new());
        }
        self.store.change_alerts(&[], |book| {
            let mut update = AlertUpdate::default();
            let mut released = Vec::new();
            for record in &book.suppressions {
                let Some(ended) = ended(record) else { continue };
                let scope = Scope { line: &record.line, kind: kind(&record.kind)? };
                let by = Person { name: SERVICE, now: ended };
                update.released.push(end_of(scope, by));
                let alerts = standing(book, scope, |alert| alert.release(Transition::Unshelve))?;
                self.note_all(&mut update, &alerts, by, "the time on the shelf is over")?;
                released.extend(alerts);
            }
            Ok((update, released))
        })
    }
}

/// The alerts of a kind that stand on a line, each after a change. One for which there is no such way stays
/// as it is: it was raised when a shelf's time was over and its end not yet noted, and calls already.
fn standing(
    book: &AlertBook,
    scope: Scope<'_>,
    change: impl Fn(&mut Alert) -> Result<(), Forbidden>,
) -> anyhow::Result<Vec<Alert>> {
    let mut changed = Vec::new();
    for record in &book.alerts {
        if record.line != scope.line || record.kind != scope.kind.name() || record.ended.is_some() {
            continue;
        }
        let mut alert: Alert = serde_json::from_str(&record.json)?;
        if change(&mut alert).is_ok() {
            changed.push(alert);
        }
    }
    Ok(changed)
}

fn end_of(scope: Scope<'_>, by: Person<'_>) -> SuppressionEnd {
    SuppressionEnd { line: scope.line.into(), kind: scope.kind.name().into(), time: by.now, who: by.name.into() }
}

/// The kind of this name, which this program or an older one has stored.
pub(crate) fn kind(name: &str) -> anyhow::Result<Kind> {
    let known = Kind::ALL.into_iter().find(|kind| kind.name() == name);
    known.with_context(|| format!("a kind of alert is stored that this program does not know: {name:?}"))
}

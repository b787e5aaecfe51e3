//! What people change: by the same ways as the commands.

use alert::{AlertState, Kind, Suppression, Transition};
use normal_profile::Standing;
use store::SuppressionRecord;
use web::SuppressionStatus;
use web::api::{AlertRecord, AuditEntry, Normal, NumberedAlert, Person, Refusal, Suppress};

use super::alerts::alert;
use super::{Api, conflict, failed, refusal, timestamp};
use crate::alert_desk::{self, Scope};

/// Changes of alerts told at once.
const CHANGES: usize = 500;
/// The newest entries of who changed what that are shown.
const ENTRIES: usize = 10_000;

impl Api {
    pub(super) fn changes_after(&self, number: i64) -> Result<Vec<NumberedAlert>, Refusal> {
        let changes = self.store.alert_changes(number, CHANGES).map_err(failed)?;
        changes.into_iter().map(|(number, record)| Ok(NumberedAlert { number, alert: alert(&record.json)? })).collect()
    }

    pub(super) fn acknowledge_alert(
        &self,
        person: &Person,
        id: &str,
        comment: Option<&str>,
    ) -> Result<AlertRecord, Refusal> {
        self.alert_with_history(id)?;
        self.desk.acknowledge(&[id], self.named(person)?, comment).map_err(conflict)?;
        self.alert_with_history(id)
    }

    pub(super) fn comment_on_alert(&self, person: &Person, id: &str, text: &str) -> Result<AlertRecord, Refusal> {
        self.alert_with_history(id)?;
        self.desk.comment(id, self.named(person)?, text).map_err(conflict)?;
        self.alert_with_history(id)
    }

    pub(super) fn list_suppressions(&self) -> Result<Vec<SuppressionStatus>, Refusal> {
        let book = self.store.alert_book().map_err(failed)?;
        Ok(book.suppressions.into_iter().map(shown).collect())
    }

    pub(super) fn suppress_kind(&self, person: &Person, what: &Suppress) -> Result<SuppressionStatus, Refusal> {
        let scope = self.scope(&what.line, &what.kind)?;
        let now = self.clock.now();
        let (reason, by) = (&what.reason, &person.0);
        let suppression = match what.until {
            Some(until) => Suppression::shelf(scope.kind, timestamp(until), reason, by, now, self.settings.shelves),
            None => Suppression::out_of_service(reason, by, now),
        };
        let suppression = suppression.map_err(|why| Refusal::Wrong(why.to_string()))?;
        self.desk.suppress(scope, &suppression).map_err(conflict)?;
        Ok(SuppressionStatus {
            line: what.line.clone(),
            kind: what.kind.clone(),
            since: suppression.since.to_string(),
            until: suppression.until.map(|until| until.to_string()),
            reason: suppression.reason,
            by: suppression.by,
        })
    }

    pub(super) fn release_kind(&self, person: &Person, line: &str, kind: &str) -> Result<(), Refusal> {
        let scope = self.scope(line, kind)?;
        let book = self.store.alert_book().map_err(failed)?;
        let quiet = book.suppressions.iter().find(|record| record.line == line && record.kind == kind);
        let how = match quiet.map(|record| alert_desk::suppression(record).state()) {
            Some(AlertState::OutOfService) => Transition::PutInService,
            _ => Transition::Unshelve,
        };
        self.desk.release(scope, how, self.named(person)?).map_err(conflict).map(|_| ())
    }

    pub(super) fn approve(&self, person: &Person, id: &str) -> Result<Normal, Refusal> {
        let normal = self.found(id)?;
        if let Standing::Retired { by, at } = &normal.record().standing {
            let detail = format!("{id} was retired by {by} at {at}. Learn a new version instead.");
            return Err(Refusal::Conflict(detail));
        }
        self.files.approve(id, &person.0, &self.clock.now().to_string()).map_err(failed)?;
        self.normal_of(id)
    }

    pub(super) fn retire(&self, person: &Person, id: &str) -> Result<Normal, Refusal> {
        let normal = self.found(id)?;
        if let Standing::Retired { by, at } = &normal.record().standing {
            return Err(Refusal::Conflict(format!("{id} was retired already, by {by} at {at}.")));
        }
        self.files.retire(id, &person.0, &self.clock.now().to_string()).map_err(failed)?;
        self.normal_of(id)
    }

    pub(super) fn list_audit(&self) -> Result<Vec<AuditEntry>, Refusal> {
        let entry = |entry: store::AuditEntry| AuditEntry {
            id: entry.id,
            time: entry.time.to_string(),
            who: entry.who,
            what: entry.what,
        };
        Ok(self.store.audit(ENTRIES).map_err(failed)?.into_iter().map(entry).collect())
    }

    fn named<'a>(&self, person: &'a Person) -> Result<alert_desk::Person<'a>, Refusal> {
        alert_desk::Person::new(&person.0, self.clock.now()).map_err(refusal)
    }

    fn scope<'a>(&self, line: &'a str, kind: &str) -> Result<Scope<'a>, Refusal> {
        self.line(line)?;
        let known = Kind::ALL.into_iter().find(|known| known.name() == kind);
        let kind = known.ok_or_else(|| {
            let names = Kind::ALL.map(Kind::name).join(", ");
            Refusal::NotFound(format!("There is no kind of alert {kind:?}. Write one of {names}."))
        })?;
        Ok(Scope { line, kind })
    }
}

fn shown(record: SuppressionRecord) -> SuppressionStatus {
    SuppressionStatus {
        line: record.line,
        kind: record.kind,
        since: record.since.to_string(),
        until: record.until.map(|until| until.to_string()),
        reason: record.reason,
        by: record.who,
    }
}

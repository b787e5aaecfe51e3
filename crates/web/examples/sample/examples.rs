//! Answers with the examples of the API's document: so each of them is of the type that it is an example of.

use std::sync::{Mutex, PoisonError};

use serde::de::DeserializeOwned;
use utoipa::PartialSchema;
use web::SuppressionStatus;
use web::api::{
    Alert, AlertChange, AlertComment, AlertQuery, AlertRates, AlertRecord, Answers, AuditEntry, Gap, History,
    HistoryQuery, Lines, Normal, NormalDifference, NormalSide, NumberedAlert, Period, Person, Profile, Quarantine,
    QuarantinedPayload, Refusal, Shift, ShiftTable, Signal, StoreSize, Suppress,
};

/// Knows one of each thing, and what was changed.
#[derive(Default)]
pub(crate) struct Examples {
    changes: Mutex<Vec<Alert>>,
    noted: Mutex<Vec<AuditEntry>>,
}

/// The example of a type in the document.
pub(crate) fn example<T: DeserializeOwned + PartialSchema>() -> T {
    let schema = serde_json::to_value(T::schema()).expect("a schema is JSON");
    serde_json::from_value(schema["example"].clone()).expect("an example of this type")
}

fn known(is: &str, asked: &str) -> Result<(), Refusal> {
    if is == asked { Ok(()) } else { Err(Refusal::NotFound(format!("There is no {asked:?}. Write {is:?}."))) }
}

impl Answers for Examples {
    fn lines(&self) -> Result<Lines, Refusal> {
        Ok(example())
    }

    fn history(&self, line: &str, _: HistoryQuery) -> Result<History, Refusal> {
        known("tunnel-1", line)?;
        Ok(example())
    }

    fn profile(&self, line: &str) -> Result<Profile, Refusal> {
        known("tunnel-1", line)?;
        Ok(example())
    }

    fn alerts(&self, query: &AlertQuery) -> Result<Vec<Alert>, Refusal> {
        let alert: Alert = example();
        let wanted = query.line.as_ref().is_none_or(|line| *line == alert.line);
        Ok(Vec::from_iter(wanted.then_some(alert)))
    }

    fn alert(&self, id: &str) -> Result<AlertRecord, Refusal> {
        let alert: Alert = example();
        known(&alert.id, id)?;
        Ok(AlertRecord { alert, history: vec![example::<AlertChange>()] })
    }

    fn alert_rates(&self, _: Period) -> Result<Vec<AlertRates>, Refusal> {
        Ok(vec![example()])
    }

    fn signals(&self) -> Result<Vec<Signal>, Refusal> {
        let numbered = |number| Signal { tag: format!("mill/tunnel-1/z{number}/dew"), zone: Some(number), ..example() };
        Ok((1..=3).map(numbered).collect())
    }

    fn gaps(&self, _: Period) -> Result<Vec<Gap>, Refusal> {
        Ok(vec![example()])
    }

    fn store(&self) -> Result<StoreSize, Refusal> {
        Ok(example())
    }

    fn quarantine(&self) -> Result<Quarantine, Refusal> {
        Ok(Quarantine { counts: Vec::new(), items: vec![example::<QuarantinedPayload>()], next: None })
    }

    fn normals(&self) -> Result<Vec<Normal>, Refusal> {
        Ok(vec![example()])
    }

    fn normal(&self, id: &str) -> Result<Normal, Refusal> {
        known("tunnel-1/T800/3", id)?;
        Ok(example())
    }

    fn normal_difference(&self, before: &str, after: &str) -> Result<NormalDifference, Refusal> {
        known("tunnel-1/T800/3", before)?;
        known("tunnel-1/T800/3", after)?;
        let normal: Normal = example();
        let side = || NormalSide {
            id: normal.id.clone(),
            standing: normal.standing.clone(),
            hours: normal.hours,
            runs: normal.runs,
            windows_used: normal.windows_used,
            windows_left_out: normal.windows_left_out,
            slowest_m_min: normal.slowest_m_min,
            fastest_m_min: normal.fastest_m_min,
            rises_learned_from: normal.rises_learned_from,
            ways_of_running_pct: normal.ways_of_running_pct.clone(),
        };
        Ok(NormalDifference { before: side(), after: side(), at: Vec::new() })
    }

    fn shifts(&self, line: Option<&str>, _: Period) -> Result<Vec<Shift>, Refusal> {
        known("tunnel-1", line.unwrap_or("tunnel-1"))?;
        Ok(vec![example()])
    }

    fn shift_table(&self, line: &str, _: &str, _: &str) -> Result<ShiftTable, Refusal> {
        known("tunnel-1", line)?;
        Ok(ShiftTable { shift: example(), rows: Vec::new() })
    }

    fn newest_alert_change(&self) -> Result<i64, Refusal> {
        Ok(self.changes.lock().unwrap_or_else(PoisonError::into_inner).len() as i64)
    }

    fn alert_changes(&self, after: i64) -> Result<Vec<NumberedAlert>, Refusal> {
        let changes = self.changes.lock().unwrap_or_else(PoisonError::into_inner);
        Ok((1..)
            .zip(changes.iter().cloned())
            .map(|(number, alert)| NumberedAlert { number, alert })
            .skip(after as usize)
            .collect())
    }

    fn acknowledge(&self, person: &Person, id: &str, comment: Option<&str>) -> Result<AlertRecord, Refusal> {
        let mut record = self.alert(id)?;
        if comment == Some("again") {
            return Err(Refusal::Conflict("It is acknowledged already.".into()));
        }
        record.alert.state = "acknowledged".into();
        record.alert.acknowledged_by = Some(person.0.clone());
        self.changes.lock().unwrap_or_else(PoisonError::into_inner).push(record.alert.clone());
        Ok(record)
    }

    fn comment(&self, person: &Person, id: &str, text: &str) -> Result<AlertRecord, Refusal> {
        let mut record = self.alert(id)?;
        let comment = AlertComment { by: person.0.clone(), at: "2026-10-06T13:12:00Z".into(), text: text.into() };
        record.alert.comments.push(comment);
        Ok(record)
    }

    fn suppressions(&self) -> Result<Vec<SuppressionStatus>, Refusal> {
        Ok(Vec::new())
    }

    fn suppress(&self, person: &Person, what: &Suppress) -> Result<SuppressionStatus, Refusal> {
        known("tunnel-1", &what.line)?;
        Ok(SuppressionStatus {
            line: what.line.clone(),
            kind: what.kind.clone(),
            since: "2026-10-06T13:12:00Z".into(),
            until: what.until.map(|until| until.to_rfc3339()),
            reason: what.reason.clone(),
            by: person.0.clone(),
        })
    }

    fn release(&self, _: &Person, line: &str, _: &str) -> Result<(), Refusal> {
        known("tunnel-1", line)
    }

    fn approve_normal(&self, person: &Person, id: &str) -> Result<Normal, Refusal> {
        Ok(Normal { by: Some(person.0.clone()), ..self.normal(id)? })
    }

    fn retire_normal(&self, person: &Person, id: &str) -> Result<Normal, Refusal> {
        Ok(Normal { by: Some(person.0.clone()), standing: "retired".into(), ..self.normal(id)? })
    }

    fn note(&self, who: &str, what: &str) -> Result<(), Refusal> {
        let mut noted = self.noted.lock().unwrap_or_else(PoisonError::into_inner);
        let id = 1 + noted.len() as i64;
        noted.push(AuditEntry { id, who: who.into(), what: what.into(), time: "2026-10-06T13:12:00Z".into() });
        Ok(())
    }

    fn audit(&self) -> Result<Vec<AuditEntry>, Refusal> {
        Ok(self.noted.lock().unwrap_or_else(PoisonError::into_inner).iter().rev().cloned().collect())
    }
}

//! Answers with the examples of the API's document: so each of them is of the type that it is an example of.

use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use serde::de::DeserializeOwned;
use utoipa::PartialSchema;
use web::SuppressionStatus;
use web::api::{
    Agreement, Alert, AlertChange, AlertComment, AlertQuery, AlertRates, AlertRecord, Answers, AuditEntry,
    EnergyAccount, EnergyAnswers, EnergyColumn, EnergyQuery, Gap, History, HistoryQuery, KeptTransitRun, Lines, Moment,
    Normal, NormalDifference, NormalSide, NumberedAlert, Party, Period, Person, Profile, Proposal, Quarantine,
    QuarantinedPayload, Rate, RateAnswers, RateChange, RateChangeState, RateQuestion, RateReview, Refusal, Shift,
    ShiftTable, Signal, Signature, StoreSize, Suppress, TransitAnswers, TransitComparison, TransitFile, TransitRun,
    TransitSummary,
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
        // Three of them, the newest first.
        let alert: Alert = example();
        let numbered = |last: char| Alert { id: format!("{}{last}", &alert.id[..25]), ..alert.clone() };
        let alerts = [alert.clone(), numbered('2'), numbered('1')].into_iter();
        let mut alerts: Vec<Alert> =
            alerts.filter(|alert| query.line.as_ref().is_none_or(|line| *line == alert.line)).collect();
        if let Some(after) = &query.after {
            let place = alerts.iter().position(|alert| alert.id == *after);
            let place = place.ok_or_else(|| Refusal::Wrong("Begin again without a cursor.".into()))?;
            alerts.drain(..=place);
        }
        alerts.truncate(query.limit);
        Ok(alerts)
    }

    fn alert(&self, id: &str) -> Result<AlertRecord, Refusal> {
        let alert: Alert = example();
        known(&alert.id, id)?;
        Ok(AlertRecord { alert, history: vec![example::<AlertChange>()], review: Some(example()) })
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
        if comment == Some("slowly") {
            std::thread::sleep(Duration::from_millis(500));
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

impl RateAnswers for Examples {
    fn rate_review(&self, question: &RateQuestion) -> Result<RateReview, Refusal> {
        known("tunnel-1", &question.line)?;
        if question.product != "T800" {
            return Err(Refusal::Conflict(format!("No normal of {} is in use.", question.product)));
        }
        match question.asked {
            Rate::Speed(speed_m_min) => Ok(RateReview { speed_m_min, ..example() }),
            Rate::BakeTime(bake_time_min) => Ok(RateReview { bake_time_min, ..example() }),
        }
    }

    fn rate_sheet(&self, question: &RateQuestion) -> Result<String, Refusal> {
        let review = self.rate_review(question)?;
        Ok(format!("<!doctype html><title>Review</title><h1>{} m/min</h1>", review.speed_m_min))
    }

    fn rate_changes(&self, line: Option<&str>) -> Result<Vec<RateChange>, Refusal> {
        known("tunnel-1", line.unwrap_or("tunnel-1"))?;
        let proposed = RateChange { id: "tunnel-1/rate/2".into(), state: RateChangeState::Proposed, ..example() };
        Ok(vec![example(), proposed])
    }

    fn rate_change(&self, id: &str) -> Result<RateChange, Refusal> {
        known("tunnel-1/rate/3", id)?;
        Ok(example())
    }

    fn propose_rate_change(&self, person: &Person, proposal: &Proposal) -> Result<RateChange, Refusal> {
        self.rate_review(&proposal.question)?;
        let proposed = signed(person);
        Ok(RateChange { reason: proposal.reason.clone(), remedy: proposal.remedy, proposed, ..example() })
    }

    fn agree_to_rate_change(&self, person: &Person, id: &str, role: Party) -> Result<RateChange, Refusal> {
        Ok(RateChange { agreed: vec![Agreement { role, signed: signed(person) }], ..self.rate_change(id)? })
    }

    fn make_rate_change(&self, person: &Person, id: &str, at: Option<Moment>) -> Result<RateChange, Refusal> {
        let by = person.0.clone();
        let at = at.map_or_else(|| signed(person).at, |at| at.to_rfc3339());
        Ok(RateChange { made: Some(Signature { by, at }), ..self.rate_change(id)? })
    }

    fn look_at_rate_change(&self, person: &Person, id: &str) -> Result<RateChange, Refusal> {
        let mut change = self.rate_change(id)?;
        change.outcome.iter_mut().for_each(|outcome| outcome.looked = signed(person));
        Ok(change)
    }
}

fn signed(person: &Person) -> Signature {
    Signature { by: person.0.clone(), at: "2026-10-06T13:12:00Z".into() }
}

impl EnergyAnswers for Examples {
    fn energy(&self, query: &EnergyQuery) -> Result<EnergyAccount, Refusal> {
        known("tunnel-1", &query.line)?;
        Ok(EnergyAccount { by: query.by, ..example() })
    }

    fn energy_csv(&self, query: &EnergyQuery) -> Result<Vec<u8>, Refusal> {
        let account = self.energy(query)?;
        let rows = account.records.iter().map(|record| format!("{},{}\r\n", record.line, record.period));
        Ok(format!("line,period\r\n{}", rows.collect::<String>()).into_bytes())
    }

    fn energy_columns(&self) -> Result<Vec<EnergyColumn>, Refusal> {
        Ok(vec![example()])
    }
}

impl TransitAnswers for Examples {
    fn keep_transit_run(&self, file: &TransitFile) -> Result<KeptTransitRun, Refusal> {
        known("tunnel-1", file.line.as_deref().unwrap_or("tunnel-1"))?;
        if file.csv.is_empty() {
            return Err(Refusal::Wrong("The file has no rows.".into()));
        }
        Ok(KeptTransitRun { run: example(), left_out: None })
    }

    fn transit_runs(&self, line: Option<&str>) -> Result<Vec<TransitSummary>, Refusal> {
        known("tunnel-1", line.unwrap_or("tunnel-1"))?;
        Ok(vec![example()])
    }

    fn transit_run(&self, id: &str) -> Result<TransitRun, Refusal> {
        let run: TransitRun = example();
        known(&run.id, id)?;
        Ok(run)
    }

    fn transit_sheet(&self, id: &str) -> Result<String, Refusal> {
        let run = self.transit_run(id)?;
        Ok(format!("<!doctype html><title>{0}</title><h1>{0}</h1>", run.id))
    }

    fn transit_comparison(&self, before: &str, after: &str) -> Result<TransitComparison, Refusal> {
        let (before, after) = (self.transit_run(before)?, self.transit_run(after)?);
        Ok(TransitComparison { before, after, alike: true, rows: Vec::new() })
    }
}

//! What the program answers to the API: one file a subject.

mod alerts;
mod changes;
mod energy;
mod history;
mod kept;
mod normals;
mod plant;
mod profile;
mod rates;
mod same;
mod shifts;
mod transits;

use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use alert::Normals;
use reading::{Line, LineIndex, Plant, Timestamp};
use store::Store;
use web::SuppressionStatus;
use web::api::{
    Alert, AlertQuery, AlertRates, AlertRecord, Answers, AuditEntry, Gap, History, HistoryQuery, Lines, Moment, Normal,
    NormalDifference, NumberedAlert, Period, Person, Profile, Quarantine, Refusal, Shift, ShiftTable, Signal,
    StoreSize, Suppress,
};

use crate::alert_desk::AlertDesk;
use crate::config::Settings;
use crate::failure::Failure;
use crate::normal_files::NormalFiles;
use crate::service::{PlantClock, Recent};

/// Answers from the store, the files of the normals, and what was heard of late.
pub(crate) struct Api {
    settings: Arc<Settings>,
    plant: Arc<Plant>,
    store: Store,
    recent: Arc<Recent>,
    clock: PlantClock,
    files: NormalFiles,
    desk: AlertDesk,
    approved: Mutex<(Option<SystemTime>, Arc<Normals>)>,
}

impl Api {
    pub(crate) fn new(
        settings: Arc<Settings>,
        plant: Arc<Plant>,
        store: Store,
        recent: Arc<Recent>,
        clock: PlantClock,
    ) -> Self {
        let files = NormalFiles::new(&settings.data_dir);
        let desk = AlertDesk::new(&settings, plant.clone(), store.clone());
        Self { settings, plant, store, recent, clock, files, desk, approved: Mutex::default() }
    }

    /// The line of this id.
    fn line(&self, id: &str) -> Result<(LineIndex, &Line), Refusal> {
        self.plant.line(id).ok_or_else(|| {
            let known: Vec<&str> = self.plant.lines.iter().map(|line| &*line.id).collect();
            Refusal::NotFound(format!("There is no line {id:?}. Write one of {}.", known.join(", ")))
        })
    }

    /// The approved normals, read again when a file has changed.
    fn approved(&self) -> Result<Arc<Normals>, Refusal> {
        let mut approved = self.approved.lock().unwrap_or_else(PoisonError::into_inner);
        let changed = self.files.changed();
        if changed != approved.0 {
            *approved = (changed, Arc::new(self.files.approved(&self.plant).map_err(failed)?));
        }
        Ok(approved.1.clone())
    }
}

impl Answers for Api {
    fn lines(&self) -> Result<Lines, Refusal> {
        Ok(self.describe_lines())
    }

    fn history(&self, line: &str, query: HistoryQuery) -> Result<History, Refusal> {
        self.history_of(line, query)
    }

    fn profile(&self, line: &str) -> Result<Profile, Refusal> {
        self.profile_of(line)
    }

    fn alerts(&self, query: &AlertQuery) -> Result<Vec<Alert>, Refusal> {
        self.list_alerts(query)
    }

    fn alert(&self, id: &str) -> Result<AlertRecord, Refusal> {
        self.alert_with_history(id)
    }

    fn alert_rates(&self, period: Period) -> Result<Vec<AlertRates>, Refusal> {
        self.rates(period)
    }

    fn signals(&self) -> Result<Vec<Signal>, Refusal> {
        Ok(self.describe_signals())
    }

    fn gaps(&self, period: Period) -> Result<Vec<Gap>, Refusal> {
        self.list_gaps(period)
    }

    fn store(&self) -> Result<StoreSize, Refusal> {
        self.store_size()
    }

    fn quarantine(&self) -> Result<Quarantine, Refusal> {
        self.list_quarantine()
    }

    fn normals(&self) -> Result<Vec<Normal>, Refusal> {
        self.list_normals()
    }

    fn normal(&self, id: &str) -> Result<Normal, Refusal> {
        self.normal_of(id)
    }

    fn normal_difference(&self, before: &str, after: &str) -> Result<NormalDifference, Refusal> {
        self.difference_of(before, after)
    }

    fn shifts(&self, line: Option<&str>, period: Period) -> Result<Vec<Shift>, Refusal> {
        self.list_shifts(line, period)
    }

    fn shift_table(&self, line: &str, date: &str, shift: &str) -> Result<ShiftTable, Refusal> {
        self.table_of(line, date, shift)
    }

    fn newest_alert_change(&self) -> Result<i64, Refusal> {
        self.store.newest_alert_change().map_err(failed)
    }

    fn alert_changes(&self, after: i64) -> Result<Vec<NumberedAlert>, Refusal> {
        self.changes_after(after)
    }

    fn acknowledge(&self, person: &Person, id: &str, comment: Option<&str>) -> Result<AlertRecord, Refusal> {
        self.acknowledge_alert(person, id, comment)
    }

    fn comment(&self, person: &Person, id: &str, text: &str) -> Result<AlertRecord, Refusal> {
        self.comment_on_alert(person, id, text)
    }

    fn suppressions(&self) -> Result<Vec<SuppressionStatus>, Refusal> {
        self.list_suppressions()
    }

    fn suppress(&self, person: &Person, what: &Suppress) -> Result<SuppressionStatus, Refusal> {
        self.suppress_kind(person, what)
    }

    fn release(&self, person: &Person, line: &str, kind: &str) -> Result<(), Refusal> {
        self.release_kind(person, line, kind)
    }

    fn approve_normal(&self, person: &Person, id: &str) -> Result<Normal, Refusal> {
        self.approve(person, id)
    }

    fn retire_normal(&self, person: &Person, id: &str) -> Result<Normal, Refusal> {
        self.retire(person, id)
    }

    fn note(&self, who: &str, what: &str) -> Result<(), Refusal> {
        self.store.record_audit(self.clock.now(), who, what).map_err(failed)
    }

    fn audit(&self) -> Result<Vec<AuditEntry>, Refusal> {
        self.list_audit()
    }
}

/// What was tried and failed.
fn failed(error: impl Into<anyhow::Error>) -> Refusal {
    Refusal::Failed(format!("{:#}", error.into()))
}

/// What a command would have ended with.
fn refusal(failure: Failure) -> Refusal {
    match failure {
        Failure::NoData(what) => Refusal::NotFound(what),
        Failure::Usage(why) => Refusal::Wrong(format!("{why:#}")),
        failure @ (Failure::Failed(_) | Failure::Config(_)) => Refusal::Failed(failure.to_string()),
    }
}

/// What a command would have ended with, where the request is well made and what stands in the store refuses it.
fn conflict(failure: Failure) -> Refusal {
    match failure {
        Failure::Usage(why) => Refusal::Conflict(format!("{why:#}")),
        failure => refusal(failure),
    }
}

fn timestamp(moment: Moment) -> Timestamp {
    Timestamp(moment.timestamp_micros())
}

/// A figure with as many decimals as anyone reads: a history is half the size.
fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (value * scale).round() / scale
}

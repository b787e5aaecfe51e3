//! What the API asks of the program.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::status::SuppressionStatus;

use super::{
    Alert, AlertQuery, AlertRates, AlertRecord, EnergyAccount, EnergyColumn, EnergyQuery, Gap, History, HistoryQuery,
    KeptTransitRun, Lines, Normal, NormalDifference, Party, Profile, Proposal, Quarantine, RateChange, RateQuestion,
    RateReview, Shift, ShiftTable, Signal, StoreSize, Suppress, TransitComparison, TransitFile, TransitRun,
    TransitSummary,
};

/// A moment, as requests name it.
pub type Moment = DateTime<Utc>;

/// A stretch of time; an end that is not named is left to the program.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Period {
    /// From this moment on.
    pub from: Option<Moment>,
    /// Before this moment.
    pub to: Option<Moment>,
}

/// Why there is no answer.
#[derive(Debug)]
pub enum Refusal {
    /// There is no such thing; which, and what there is instead.
    NotFound(String),
    /// The request makes no sense; what is wrong and what to send instead.
    Wrong(String),
    /// It cannot be done as things stand; why.
    Conflict(String),
    /// It was tried and failed; for the log alone.
    Failed(String),
}

/// Who does something, by name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person(pub String);

/// A change of an alert, with the alert as it is now.
#[derive(Debug, Clone, PartialEq)]
pub struct NumberedAlert {
    /// Rises with each change of any alert.
    pub number: i64,
    /// The alert.
    pub alert: Alert,
}

/// Something that somebody changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "id": 12, "time": "2026-10-06T13:12:00Z", "who": "Ann",
    "what": "POST /api/v1/alerts/01K6XJ7Q0B0000000000000000/acknowledge: 200"
}))]
pub struct AuditEntry {
    /// Rises with each entry.
    pub id: i64,
    /// When.
    pub time: String,
    /// Who.
    pub who: String,
    /// What, with how it ended.
    pub what: String,
}

/// What the program answers. Every call may block: it is made on a thread of its own.
///
/// Lists come whole and in the order in which they are shown; the API cuts them into pages.
pub trait Answers: RateAnswers + EnergyAnswers + TransitAnswers + Send + Sync {
    /// The lines as the config describes them.
    fn lines(&self) -> Result<Lines, Refusal>;
    /// The figures of a line over time.
    fn history(&self, line: &str, query: HistoryQuery) -> Result<History, Refusal>;
    /// The profile of a line as it is now, beside the normal at this speed.
    fn profile(&self, line: &str) -> Result<Profile, Refusal>;
    /// Alerts, the newest first, at most as many as are asked for.
    fn alerts(&self, query: &AlertQuery) -> Result<Vec<Alert>, Refusal>;
    /// One alert with what was done about it.
    fn alert(&self, id: &str) -> Result<AlertRecord, Refusal>;
    /// How often alerts called, by line and shift, the newest shift first.
    fn alert_rates(&self, period: Period) -> Result<Vec<AlertRates>, Refusal>;
    /// Every configured signal with the last that was heard of it.
    fn signals(&self) -> Result<Vec<Signal>, Refusal>;
    /// Stretches of which readings are missing, the newest first.
    fn gaps(&self, period: Period) -> Result<Vec<Gap>, Refusal>;
    /// What is kept and how much room it takes.
    fn store(&self) -> Result<StoreSize, Refusal>;
    /// Payloads that gave no reading, the newest first.
    fn quarantine(&self) -> Result<Quarantine, Refusal>;
    /// Every normal.
    fn normals(&self) -> Result<Vec<Normal>, Refusal>;
    /// One normal.
    fn normal(&self, id: &str) -> Result<Normal, Refusal>;
    /// What has changed from one normal to another.
    fn normal_difference(&self, before: &str, after: &str) -> Result<NormalDifference, Refusal>;
    /// Shifts of which readings are kept, the newest first.
    fn shifts(&self, line: Option<&str>, period: Period) -> Result<Vec<Shift>, Refusal>;
    /// The profile table of a shift.
    fn shift_table(&self, line: &str, date: &str, shift: &str) -> Result<ShiftTable, Refusal>;
    /// The number of the newest change of an alert; 0 before the first.
    fn newest_alert_change(&self) -> Result<i64, Refusal>;
    /// The changes of alerts after this number, in order; the first of them if there are many.
    fn alert_changes(&self, after: i64) -> Result<Vec<NumberedAlert>, Refusal>;
    /// Acknowledges an alert.
    fn acknowledge(&self, person: &Person, id: &str, comment: Option<&str>) -> Result<AlertRecord, Refusal>;
    /// Says something about an alert.
    fn comment(&self, person: &Person, id: &str, text: &str) -> Result<AlertRecord, Refusal>;
    /// Kinds of alert that call nobody.
    fn suppressions(&self) -> Result<Vec<SuppressionStatus>, Refusal>;
    /// Keeps a kind of alert quiet on a line.
    fn suppress(&self, person: &Person, what: &Suppress) -> Result<SuppressionStatus, Refusal>;
    /// Lets a kind of alert call again on a line.
    fn release(&self, person: &Person, line: &str, kind: &str) -> Result<(), Refusal>;
    /// Puts a normal into use.
    fn approve_normal(&self, person: &Person, id: &str) -> Result<Normal, Refusal>;
    /// Takes a normal out of use.
    fn retire_normal(&self, person: &Person, id: &str) -> Result<Normal, Refusal>;
    /// Keeps who changed what.
    fn note(&self, who: &str, what: &str) -> Result<(), Refusal>;
    /// Who changed what, the newest first.
    fn audit(&self) -> Result<Vec<AuditEntry>, Refusal>;
}

/// What the program answers about rate changes.
pub trait RateAnswers {
    /// What an oven will hold at another speed. A conflict where nothing is learned that could answer.
    fn rate_review(&self, question: &RateQuestion) -> Result<RateReview, Refusal>;
    /// The same as a page that needs nothing else.
    fn rate_sheet(&self, question: &RateQuestion) -> Result<String, Refusal>;
    /// The records, the newest first.
    fn rate_changes(&self, line: Option<&str>) -> Result<Vec<RateChange>, Refusal>;
    /// One record.
    fn rate_change(&self, id: &str) -> Result<RateChange, Refusal>;
    /// Keeps a new record with what its review foretells.
    fn propose_rate_change(&self, person: &Person, proposal: &Proposal) -> Result<RateChange, Refusal>;
    /// Notes that somebody agrees.
    fn agree_to_rate_change(&self, person: &Person, id: &str, role: Party) -> Result<RateChange, Refusal>;
    /// Notes that the band runs so, since this moment or since now.
    fn make_rate_change(&self, person: &Person, id: &str, at: Option<Moment>) -> Result<RateChange, Refusal>;
    /// Holds what was foretold against what came, and keeps it.
    fn look_at_rate_change(&self, person: &Person, id: &str) -> Result<RateChange, Refusal>;
}

/// What the program answers about energy.
pub trait EnergyAnswers {
    /// The energy account of a line.
    fn energy(&self, query: &EnergyQuery) -> Result<EnergyAccount, Refusal>;
    /// Its records as CSV.
    fn energy_csv(&self, query: &EnergyQuery) -> Result<Vec<u8>, Refusal>;
    /// What the columns of the records mean.
    fn energy_columns(&self) -> Result<Vec<EnergyColumn>, Refusal>;
}

/// What the program answers about runs of a travelling logger.
pub trait TransitAnswers {
    /// Lays a run on the zones and keeps it.
    fn keep_transit_run(&self, file: &TransitFile) -> Result<KeptTransitRun, Refusal>;
    /// The kept runs, the newest first.
    fn transit_runs(&self, line: Option<&str>) -> Result<Vec<TransitSummary>, Refusal>;
    /// One run.
    fn transit_run(&self, id: &str) -> Result<TransitRun, Refusal>;
    /// The same as a page that needs nothing else.
    fn transit_sheet(&self, id: &str) -> Result<String, Refusal>;
    /// What changed from one run to another.
    fn transit_comparison(&self, before: &str, after: &str) -> Result<TransitComparison, Refusal>;
}

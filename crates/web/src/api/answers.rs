//! What the API asks of the program.

use chrono::{DateTime, Utc};

use super::{
    Alert, AlertQuery, AlertRates, AlertRecord, Gap, History, HistoryQuery, Lines, Normal, NormalDifference, Profile,
    Quarantine, Shift, ShiftTable, Signal, StoreSize,
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

/// What the program answers. Every call may block: it is made on a thread of its own.
///
/// Lists come whole and in the order in which they are shown; the API cuts them into pages.
pub trait Answers: Send + Sync {
    /// The lines as the config describes them.
    fn lines(&self) -> Result<Lines, Refusal>;
    /// The figures of a line over time.
    fn history(&self, line: &str, query: HistoryQuery) -> Result<History, Refusal>;
    /// The profile of a line as it is now, beside the normal at this speed.
    fn profile(&self, line: &str) -> Result<Profile, Refusal>;
    /// Alerts, the newest first.
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
}

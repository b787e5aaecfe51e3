//! What happened, what may be said about it, and what was said.

use reading::Timestamp;
use serde::{Deserialize, Serialize};

/// What an event is worth to detection.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Truth {
    /// A rise that nobody met: to be found.
    UnmatchedRise,
    /// Nothing is wrong: whatever is raised is a false alarm.
    NothingWrong,
    /// A sensor is faulty: a sensor fault may be raised, and nothing else.
    SensorFault,
    /// The oven has shifted without a rise: a departure from normal may be raised, and nothing else.
    Disturbance,
}

/// A labelled event.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// Name of the oven.
    pub oven: String,
    /// Name of the family.
    pub family: String,
    /// What it is worth.
    pub truth: Truth,
    /// Change of the speed, or of its signal, %.
    pub size_pct: Option<f64>,
    /// When it began.
    pub began: Timestamp,
    /// The last moment at which an alarm finds it: one bake time and ten minutes after it, a creep's
    /// end included.
    pub due: Timestamp,
    /// The last moment at which an alarm is explained by it.
    pub explains_until: Timestamp,
    /// Bake time at the speed before, min.
    pub bake_time_min: f64,
    /// The right finding of an unmatched rise.
    pub finding: Option<String>,
    /// Whether one of the line's signals lies or is lost meanwhile.
    pub signal_is_faulty: bool,
}

/// An alarm of a method.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Alarm {
    /// Name of the method.
    pub method: String,
    /// Name of the oven.
    pub oven: String,
    /// When it was raised.
    pub raised: Timestamp,
    /// Kind of the alert; [`ANY_KIND`] for methods that know none.
    pub kind: String,
    /// Its finding, or nothing.
    pub finding: String,
}

/// The kind of an alarm that does not say what it is about.
pub const ANY_KIND: &str = "any";

impl Event {
    /// Whether an alarm of this kind finds the event.
    #[must_use]
    pub fn is_found_by(&self, alarm: &Alarm) -> bool {
        self.truth == Truth::UnmatchedRise
            && matches!(alarm.kind.as_str(), "unmatched-speed-rise" | ANY_KIND)
            && (self.began..=self.due).contains(&alarm.raised)
    }

    /// Whether this is a rise in this range of sizes, %, that nothing was done about and that all data show.
    #[must_use]
    pub fn is_plain_rise(&self, low_pct: f64, high_pct: f64) -> bool {
        self.family.starts_with("rise ")
            && self.family.ends_with('%')
            && self.size_pct.is_some_and(|size| (low_pct..high_pct).contains(&size))
    }

    /// Whether this event is a good reason for the alarm.
    ///
    /// | event | kinds accepted |
    /// | --- | --- |
    /// | unmatched rise | every kind; `sensor-fault` only where a signal lies or is lost |
    /// | sensor fault | `sensor-fault` |
    /// | disturbance | `departs-from-normal`, and the kind that is called like its family |
    ///
    /// A method that knows no kinds is accepted by all three.
    #[must_use]
    pub fn explains(&self, alarm: &Alarm) -> bool {
        let accepted = match (self.truth, alarm.kind.as_str()) {
            (Truth::NothingWrong, _) => false,
            (_, ANY_KIND) => true,
            (Truth::UnmatchedRise, "sensor-fault") => self.signal_is_faulty,
            (Truth::UnmatchedRise, _) => true,
            (Truth::SensorFault, kind) => kind == "sensor-fault",
            (Truth::Disturbance, kind) => kind == "departs-from-normal" || kind == self.family,
        };
        accepted && (self.began..=self.explains_until).contains(&alarm.raised)
    }
}

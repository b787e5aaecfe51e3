//! What the service counts, for `/metrics` and the status page.
//!
//! Names follow one rule: `ovenward_`, what is counted, its unit, and `total` for a count that only grows.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

use metrics::{Key, KeyName, Label, Level, Metadata, Recorder, SharedString, Unit};
use metrics_exporter_prometheus::{PrometheusBuilder, PrometheusHandle, PrometheusRecorder};

use super::pace::Pace;

const ABOUT: Metadata<'static> = Metadata::new(module_path!(), Level::INFO, None);

/// The service's counts. One per service, not one per process: tests run several.
pub(crate) struct Figures {
    recorder: PrometheusRecorder,
    handle: PrometheusHandle,
    rejected: Mutex<BTreeMap<&'static str, u64>>,
    pace: Pace,
}

const COUNTERS: [(&str, &str); 8] = [
    ("ovenward_messages_total", "MQTT messages received"),
    ("ovenward_readings_stored_total", "Readings stored"),
    ("ovenward_readings_repeated_total", "Readings that were already stored: redeliveries"),
    ("ovenward_readings_late_total", "Readings stored after their window had closed"),
    ("ovenward_rejected_total", "Payloads that gave no reading, by reason"),
    ("ovenward_alerts_raised_total", "Alerts raised"),
    ("ovenward_published_total", "Messages published and acknowledged by the broker"),
    (
        "ovenward_notices_total",
        "Notices to people, by how an attempt ended: taken, failed (it is tried again), refused",
    ),
];
/// Those of them that are counted by a label alone.
const BY_LABEL: [&str; 2] = ["ovenward_rejected_total", "ovenward_notices_total"];
const GAUGES: [(&str, &str); 6] = [
    ("ovenward_broker_connected", "1 while the broker answers and sends what was asked for"),
    ("ovenward_outbox_messages", "Messages that wait to be published"),
    ("ovenward_notices_waiting", "Notices that people are still to be told"),
    ("ovenward_commit_seconds", "How long the last commit took"),
    ("ovenward_database_connected", "1 while the database of [sql] takes what is written"),
    ("ovenward_normals_slipping", "Approved normals that no longer fit, at the end of the last shift"),
];

impl Default for Figures {
    fn default() -> Self {
        let recorder = PrometheusBuilder::new().build_recorder();
        let handle = recorder.handle();
        for (name, text) in COUNTERS {
            recorder.describe_counter(KeyName::from(name), Some(Unit::Count), SharedString::from(text));
            if !BY_LABEL.contains(&name) {
                recorder.register_counter(&Key::from_name(name), &ABOUT).increment(0);
            }
        }
        for (name, text) in GAUGES {
            recorder.describe_gauge(KeyName::from(name), None, SharedString::from(text));
            recorder.register_gauge(&Key::from_name(name), &ABOUT).set(0.0);
        }
        let figures = Self { recorder, handle, rejected: Mutex::default(), pace: Pace::new(Instant::now()) };
        for result in ["taken", "failed", "refused"] {
            figures.count_notices(result, 0);
        }
        figures
    }
}

impl Figures {
    /// Adds to a counter of [`COUNTERS`].
    pub(crate) fn count(&self, name: &'static str, by: u64) {
        self.recorder.register_counter(&Key::from_name(name), &ABOUT).increment(by);
    }

    /// Sets a gauge of [`GAUGES`].
    pub(crate) fn set(&self, name: &'static str, value: f64) {
        self.recorder.register_gauge(&Key::from_name(name), &ABOUT).set(value);
    }

    /// Counts readings that were stored.
    pub(crate) fn stored(&self, readings: u64) {
        self.count("ovenward_readings_stored_total", readings);
        self.pace.add(readings, Instant::now());
    }

    /// Readings stored so far, and readings a second of late.
    pub(crate) fn pace(&self) -> (u64, f64) {
        self.pace.at(Instant::now())
    }

    /// Counts a payload that gave no reading; says how many there were for this reason.
    pub(crate) fn reject(&self, reason: &'static str) -> u64 {
        let key = Key::from_parts("ovenward_rejected_total", vec![Label::new("reason", reason)]);
        self.recorder.register_counter(&key, &ABOUT).increment(1);
        let mut rejected = self.rejected.lock().unwrap_or_else(PoisonError::into_inner);
        let count = rejected.entry(reason).or_default();
        *count += 1;
        *count
    }

    /// Counts notices by how an attempt to tell them ended: `taken`, `failed` or `refused`.
    pub(crate) fn count_notices(&self, result: &'static str, notices: u64) {
        let key = Key::from_parts("ovenward_notices_total", vec![Label::new("result", result)]);
        self.recorder.register_counter(&key, &ABOUT).increment(notices);
    }

    /// Rejections so far, by reason.
    pub(crate) fn rejected(&self) -> BTreeMap<&'static str, u64> {
        self.rejected.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Everything, in the text format of OpenMetrics.
    pub(crate) fn render(&self) -> String {
        self.handle.render()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rules_that_are_shipped_name_figures_that_there_are() {
        let rules = include_str!("../../../../deploy/monitoring/ovenward.rules.yaml");
        let known: Vec<&str> = COUNTERS.iter().chain(&GAUGES).map(|(name, _)| *name).collect();
        let of_expressions = rules.lines().filter(|line| line.trim_start().starts_with("expr:"));
        let named: Vec<&str> = of_expressions
            .flat_map(|line| line.split(|c: char| !c.is_ascii_alphanumeric() && c != '_'))
            .filter(|word| word.starts_with("ovenward_"))
            .collect();
        assert!(named.len() >= 5, "{named:?}");
        for name in named {
            assert!(known.contains(&name), "{name} is no figure of the service");
        }
    }
}

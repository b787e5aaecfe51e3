//! What the service counts, for `/metrics` and the status page.
//!
//! Names follow one rule: `ovenward_`, what is counted, its unit, and `total` for a count that only grows.

use std::collections::BTreeMap;
use std::sync::atomic::AtomicU64;
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::registry::{Registry, Unit};

use super::pace::Pace;

/// Counters of one name, told apart by one label.
type ByLabel = Family<[(&'static str, &'static str); 1], Counter>;

/// The service's counts. One per service, not one per process: tests run several.
pub(crate) struct Figures {
    registry: Registry,
    counters: BTreeMap<&'static str, Counter>,
    gauges: BTreeMap<&'static str, Gauge<f64, AtomicU64>>,
    rejected: ByLabel,
    notices: ByLabel,
    /// Those rejected once more, to be listed: the family cannot say which reasons it has.
    reasons: Mutex<BTreeMap<&'static str, u64>>,
    pace: Pace,
}

const REJECTED: (&str, &str) = ("ovenward_rejected_total", "Payloads that gave no reading, by reason");
const NOTICES: (&str, &str) = (
    "ovenward_notices_total",
    "Notices to people, by how an attempt ended: taken, failed (it is tried again), refused",
);
const COUNTERS: [(&str, &str); 6] = [
    ("ovenward_messages_total", "MQTT messages received"),
    ("ovenward_readings_stored_total", "Readings stored"),
    ("ovenward_readings_repeated_total", "Readings that were already stored: redeliveries"),
    ("ovenward_readings_late_total", "Readings stored after their window had closed"),
    ("ovenward_alerts_raised_total", "Alerts raised"),
    ("ovenward_published_total", "Messages published and acknowledged by the broker"),
];
const GAUGES: [(&str, &str); 7] = [
    ("ovenward_broker_connected", "1 while the broker answers and sends what was asked for"),
    ("ovenward_outbox_messages", "Messages that wait to be published"),
    ("ovenward_notices_waiting", "Notices that people are still to be told"),
    ("ovenward_commit_seconds", "How long the last commit took"),
    ("ovenward_database_connected", "1 while the database of [sql] takes what is written"),
    ("ovenward_disk_free_bytes", "Room left on the disk of the store"),
    ("ovenward_normals_slipping", "Approved normals that no longer fit, at the end of the last shift"),
];

impl Default for Figures {
    fn default() -> Self {
        let mut registry = Registry::default();
        // The format itself adds `_total` to every counter, and the unit to what has one.
        let mut by_label = |(name, help): (&str, &str)| {
            let family = ByLabel::default();
            registry.register(name.trim_end_matches("_total"), help, family.clone());
            family
        };
        let (rejected, notices) = (by_label(REJECTED), by_label(NOTICES));
        for result in ["taken", "failed", "refused"] {
            notices.get_or_create(&[("result", result)]).inc_by(0);
        }
        let counters = COUNTERS.map(|(name, help)| {
            let counter = Counter::default();
            registry.register(name.trim_end_matches("_total"), help, counter.clone());
            (name, counter)
        });
        let gauges = GAUGES.map(|(name, help)| {
            let gauge = Gauge::default();
            match unit(name) {
                Some((stem, unit)) => registry.register_with_unit(stem, help, unit, gauge.clone()),
                None => registry.register(name, help, gauge.clone()),
            }
            (name, gauge)
        });
        Self {
            registry,
            counters: counters.into(),
            gauges: gauges.into(),
            rejected,
            notices,
            reasons: Mutex::default(),
            pace: Pace::new(Instant::now()),
        }
    }
}

/// The unit with which a name ends, if it is one that the format knows, and the name before it.
fn unit(name: &str) -> Option<(&str, Unit)> {
    let (stem, unit) = name.rsplit_once('_')?;
    match unit {
        "seconds" => Some((stem, Unit::Seconds)),
        "bytes" => Some((stem, Unit::Bytes)),
        _ => None,
    }
}

impl Figures {
    /// Adds to a counter of [`COUNTERS`].
    pub(crate) fn count(&self, name: &'static str, by: u64) {
        self.counters[name].inc_by(by);
    }

    /// Sets a gauge of [`GAUGES`].
    pub(crate) fn set(&self, name: &'static str, value: f64) {
        self.gauges[name].set(value);
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
        self.rejected.get_or_create(&[("reason", reason)]).inc();
        let mut reasons = self.reasons.lock().unwrap_or_else(PoisonError::into_inner);
        let count = reasons.entry(reason).or_default();
        *count += 1;
        *count
    }

    /// Counts notices by how an attempt to tell them ended: `taken`, `failed` or `refused`.
    pub(crate) fn count_notices(&self, result: &'static str, notices: u64) {
        self.notices.get_or_create(&[("result", result)]).inc_by(notices);
    }

    /// Rejections so far, by reason.
    pub(crate) fn rejected(&self) -> BTreeMap<&'static str, u64> {
        self.reasons.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Everything, in the text format of OpenMetrics.
    pub(crate) fn render(&self) -> String {
        let mut text = String::new();
        match encode(&mut text, &self.registry) {
            Ok(()) => text,
            Err(error) => {
                tracing::error!("the figures cannot be written: {error}");
                "# EOF\n".to_owned()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every name, as it stands in the text.
    fn names() -> impl Iterator<Item = &'static str> {
        COUNTERS.iter().chain([&REJECTED, &NOTICES]).chain(&GAUGES).map(|(name, _)| *name)
    }

    #[test]
    fn counts_end_with_total_and_nothing_else_does() {
        assert!(COUNTERS.iter().chain([&REJECTED, &NOTICES]).all(|(name, _)| name.ends_with("_total")));
        assert!(GAUGES.iter().all(|(name, _)| !name.ends_with("_total")));
        for name in names() {
            assert!(name.strip_prefix("ovenward_").is_some_and(|rest| rest.split('_').all(|word| !word.is_empty())));
        }
    }

    #[test]
    fn the_text_has_every_figure_under_its_name() {
        let figures = Figures::default();
        figures.stored(3);
        figures.reject("no-number");
        figures.set("ovenward_commit_seconds", 0.25);
        let text = figures.render();
        for name in names() {
            assert!(text.lines().any(|line| line.starts_with(name)), "{name} is missing:\n{text}");
        }
        for line in [
            "ovenward_readings_stored_total 3",
            "ovenward_rejected_total{reason=\"no-number\"} 1",
            "ovenward_commit_seconds 0.25",
            "# UNIT ovenward_commit_seconds seconds",
            "# TYPE ovenward_readings_stored counter",
        ] {
            assert!(text.lines().any(|found| found == line), "{line} is missing:\n{text}");
        }
        assert!(text.ends_with("# EOF\n"));
    }

    #[test]
    fn the_rules_that_are_shipped_name_figures_that_there_are() {
        let rules = include_str!("../../../../deploy/monitoring/ovenward.rules.yaml");
        let known: Vec<&str> = names().collect();
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

//! What the page reads of an alert.

use serde::Deserialize;
use serde_json::Value;

use crate::page::figure;
use crate::page::shape::Shape;
use crate::status::PlantStatus;

/// An alert as it is published; what is absent is left out of the page.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Alert {
    pub(crate) id: String,
    pub(crate) line: String,
    pub(crate) kind: String,
    pub(crate) finding: String,
    pub(crate) priority: String,
    pub(crate) state: String,
    pub(crate) product: Option<String>,
    pub(crate) began: Option<String>,
    pub(crate) ended: Option<String>,
    pub(crate) speed: Option<SpeedChange>,
    pub(crate) zones: Vec<ZoneFigures>,
    pub(crate) confidence: Option<f64>,
    pub(crate) normal: Option<String>,
    pub(crate) message: String,
    pub(crate) advice: Vec<Step>,
    pub(crate) caution: Option<String>,
    pub(crate) acknowledged_by: Option<String>,
    pub(crate) acknowledged_at: Option<String>,
    pub(crate) comments: Vec<Comment>,
}

/// What somebody has to say about it.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Comment {
    pub(crate) by: String,
    pub(crate) at: String,
    pub(crate) text: String,
}

/// The change of the band speed that it is about.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct SpeedChange {
    pub(crate) before: f64,
    pub(crate) after: f64,
    pub(crate) unit: String,
}

/// What a zone did, in moisture by volume.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(crate) struct ZoneFigures {
    pub(crate) zone: usize,
    pub(crate) before: Option<f64>,
    pub(crate) observed: Option<f64>,
    pub(crate) expected: Option<f64>,
    pub(crate) low: Option<f64>,
    pub(crate) high: Option<f64>,
}

/// One thing to try.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Step {
    pub(crate) step: String,
    pub(crate) text: Option<String>,
    pub(crate) zone: Option<usize>,
    pub(crate) to_pct: Option<f64>,
    pub(crate) to_m_min: Option<f64>,
    pub(crate) by_c: Option<f64>,
    pub(crate) extra_cost_per_h: Option<f64>,
}

/// The alerts whose cause is still there.
pub(crate) fn standing(status: &PlantStatus) -> Vec<Alert> {
    status.alerts.iter().map(Alert::read).filter(|alert| alert.ended.is_none()).collect()
}

/// The alerts that stand and call somebody, the unacknowledged ones first. One in a state that is not known calls.
pub(crate) fn calling(alerts: &[Alert]) -> Vec<Alert> {
    let mut calling: Vec<Alert> = alerts.iter().filter(|alert| !alert.is_quiet()).cloned().collect();
    calling.sort_by_key(Alert::is_acknowledged);
    calling
}

/// The alerts that are over.
pub(crate) fn ended(status: &PlantStatus) -> Vec<Alert> {
    status.alerts.iter().map(Alert::read).filter(|alert| alert.ended.is_some()).collect()
}

/// The name of a line; its id, should the line be gone.
pub(crate) fn line_name<'a>(status: &'a PlantStatus, id: &'a str) -> &'a str {
    status.lines.iter().find(|line| line.id == id).map_or(id, |line| &line.name)
}

impl Alert {
    /// Reads an alert. One that cannot be read is shown as such: an alert is never dropped.
    fn read(value: &Value) -> Self {
        Self::deserialize(value).unwrap_or_else(|error| {
            let text = |key: &str| value.get(key).and_then(Value::as_str).unwrap_or_default().to_owned();
            let message = format!("{} (Its other figures cannot be shown here: {error}.)", text("message"));
            let ended = value.get("ended").and_then(Value::as_str).map(str::to_owned);
            let [id, line, kind, finding, state] = ["id", "line", "kind", "finding", "state"].map(text);
            Self { id, line, kind, finding, state, message, ended, ..Self::default() }
        })
    }

    /// Which oven, and what is wrong with it.
    pub(crate) fn title(&self, status: &PlantStatus) -> String {
        format!("{}: {}", line_name(status, &self.line), self.trouble())
    }

    /// What is wrong, in a few words.
    fn trouble(&self) -> String {
        let words = match self.finding.as_str() {
            "carryover" => "overloaded",
            "steam-short" => "too little steam",
            "over-vented" => "too much exhaust",
            "zone3-limit" => "over the limit in zone 3",
            "no-response" => "no answer to the higher speed: is a sensor wrong?",
            "damper" => "a damper stands otherwise",
            "steam" => "the steam has changed",
            "temperature" => "a zone's temperature",
            "unexplained" => "not as it was learned",
            "steam-without-product" => "steam without product",
            "steam-too-long" => "too long under steam",
            "silent" => "a signal is silent",
            "stuck" => "a signal is stuck",
            "impossible" => "a signal contradicts itself",
            "" => "an alert",
            other => return figure::words(other),
        };
        words.to_owned()
    }

    /// Whether somebody sees to it.
    pub(crate) fn is_acknowledged(&self) -> bool {
        self.state == "acknowledged"
    }

    /// Whether it stands and calls nobody.
    pub(crate) fn is_quiet(&self) -> bool {
        matches!(self.state.as_str(), "shelved" | "out-of-service")
    }

    /// Whether it says that moisture stays in the oven.
    pub(crate) fn means_overload(&self) -> bool {
        matches!(self.finding.as_str(), "carryover" | "zone3-limit")
    }

    /// How soon a person should look. Without a priority, at once.
    pub(crate) fn shape(&self) -> Shape {
        if matches!(self.priority.as_str(), "medium" | "low") { Shape::Watch } else { Shape::Act }
    }
}

impl Step {
    /// The step in a few words that can be read from afar.
    pub(crate) fn order(&self) -> String {
        let exhaust = |verb: &str| match self.zone {
            Some(zone) => format!("{verb} the exhaust of zone {zone}"),
            None => format!("{verb} the exhaust"),
        };
        match (self.step.as_str(), self.to_pct, self.to_m_min, self.by_c) {
            ("check-steam-valve", ..) => "Check the steam valve".to_owned(),
            ("open-exhaust", Some(to), ..) => format!("{} to {to:.0} %", exhaust("Open")),
            ("open-exhaust", ..) => exhaust("Open"),
            ("close-exhaust", Some(to), ..) => format!("{} to {to:.0} %", exhaust("Close")),
            ("close-exhaust", ..) => exhaust("Close"),
            ("slow-band", _, Some(to), _) => format!("Slow the band to {to:.2} m/min"),
            ("slow-band", ..) => "Slow the band".to_owned(),
            ("raise-temperature", _, _, Some(by)) => format!("Raise the temperature by {by:.0} °C"),
            (other, ..) => figure::sentence(other),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::{Alert, Step, calling, ended, standing};
    use crate::page::shape::Shape;
    use crate::status::PlantStatus;
    use serde_json::{Value, json};

    fn status(alert: Value) -> PlantStatus {
        PlantStatus { alerts: vec![alert], ..PlantStatus::default() }
    }

    #[test]
    fn an_alert_that_cannot_be_read_still_stands() {
        let status = status(json!({ "id": "01K", "line": "tunnel-1", "message": "Band up.", "zones": "none" }));
        let alerts = standing(&status);
        assert_eq!(alerts.len(), 1);
        assert_eq!(alerts[0].shape(), Shape::Act);
        assert_eq!(alerts[0].title(&status), "tunnel-1: an alert");
        assert!(alerts[0].message.starts_with("Band up. (Its other figures cannot be shown here: invalid type"));
    }

    #[test]
    fn an_alert_that_ended_does_not_stand() {
        let status = status(json!({ "line": "tunnel-1", "ended": "2026-10-06T13:02:00Z" }));
        assert!(standing(&status).is_empty());
        assert_eq!(ended(&status).len(), 1);
    }

    #[test]
    fn what_nobody_has_acknowledged_comes_first_and_what_is_kept_quiet_not_at_all() {
        let in_state = |state: &str| Alert { state: state.into(), ..Alert::default() };
        let states = ["shelved", "acknowledged", "out-of-service", "unacknowledged", "of-a-later-version"];
        let calling: Vec<String> = calling(&states.map(in_state)).into_iter().map(|alert| alert.state).collect();
        assert_eq!(calling, ["unacknowledged", "of-a-later-version", "acknowledged"]);
    }

    #[test]
    fn a_finding_of_a_later_version_is_named() {
        let alert = Alert { line: "t".into(), finding: "sensor-fault".into(), ..Alert::default() };
        assert_eq!(alert.title(&PlantStatus::default()), "t: sensor fault");
    }

    #[test]
    fn steps_carry_their_figures() {
        for (step, words) in [
            (json!({ "step": "check-steam-valve", "text": "…" }), "Check the steam valve"),
            (json!({ "step": "open-exhaust", "zone": 2, "to_pct": 58 }), "Open the exhaust of zone 2 to 58 %"),
            (json!({ "step": "open-exhaust", "zone": 2 }), "Open the exhaust of zone 2"),
            (json!({ "step": "close-exhaust" }), "Close the exhaust"),
            (json!({ "step": "slow-band", "to_m_min": 1.27 }), "Slow the band to 1.27 m/min"),
            (json!({ "step": "slow-band" }), "Slow the band"),
            (json!({ "step": "raise-temperature", "by_c": 6 }), "Raise the temperature by 6 °C"),
            (json!({ "step": "add-zone" }), "Add zone"),
        ] {
            let step: Step = serde_json::from_value(step).unwrap();
            assert_eq!(step.order(), words);
        }
    }
}

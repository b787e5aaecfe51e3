//! What a rule makes of the steps of alerts, between the store's words and the rule's.

use alert::{Alert, AlertState};
use anyhow::{Context, Result};
use notice::{Decision, Event, Known, Rule};
use reading::{ShiftCalendar, Timestamp};
use store::{AlertRecord, AlertStep, NoticeRecord, WaitingNotice};

/// What a receiver knows after these steps, where that has changed. An alert that has come several steps is decided on
/// once, as it is now.
pub(super) fn decided(
    rule: &Rule,
    steps: &[AlertStep],
    known: &[NoticeRecord],
    now: Timestamp,
    calendar: &ShiftCalendar,
) -> Result<Vec<NoticeRecord>> {
    let mut records = Vec::new();
    for (index, last) in steps.iter().enumerate() {
        let id = &last.alert.id;
        if steps[index + 1..].iter().any(|later| later.alert.id == *id) {
            continue;
        }
        let called = steps.iter().filter(|step| step.alert.id == *id).any(begins_to_call);
        let before = known.iter().find(|record| record.alert == *id);
        let told = before.and_then(|record| record.told.clone());
        let waiting = before.and_then(|record| record.waiting.as_ref());
        let known = Known {
            told: told.as_deref().map(event).transpose()?,
            waiting: waiting.map(|notice| event(&notice.event).map(|event| (event, notice.due))).transpose()?,
        };
        let waiting = match rule.decide(&read(&last.alert)?, called, known, now, calendar) {
            Decision::AsBefore => continue,
            Decision::Nothing => None,
            Decision::Tell { event, due } => Some(WaitingNotice {
                // The same whenever the same is decided.
                id: format!("{id}-{}-{}", event.name(), last.number),
                event: event.name().into(),
                due,
                attempts: 0,
                next_attempt: due,
            }),
        };
        records.push(NoticeRecord { alert: id.clone(), told, waiting });
    }
    Ok(records)
}

/// Whether the alert calls since this step: a comment leaves it in its state.
fn begins_to_call(step: &AlertStep) -> bool {
    let calls = AlertState::Unacknowledged.name();
    step.to == calls && step.from.as_deref() != Some(calls)
}

pub(super) fn read(record: &AlertRecord) -> Result<Alert> {
    serde_json::from_str(&record.json).with_context(|| format!("the alert {} as it is stored", record.id))
}

pub(super) fn event(name: &str) -> Result<Event> {
    Event::named(name).with_context(|| format!("a notice is stored that this program does not know: {name:?}"))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use chrono_tz::Tz;
    use serde_json::json;

    use super::*;

    const NOW: Timestamp = Timestamp(1_780_380_000_000_000);

    /// A high alert that has come from one state to another.
    fn step(number: i64, id: &str, from: Option<AlertState>, to: AlertState) -> AlertStep {
        let json = json!({
            "id": id, "site": "millbrook", "line": "tunnel-1", "kind": "zone3-limit", "finding": "zone3-limit",
            "priority": "high", "state": to, "product": "T800", "began": NOW, "raised": NOW, "ended": null,
            "speed": null, "zones": [], "confidence": null, "normal": null, "message": "Zone 3.", "advice": [],
            "caution": "Advice only."
        });
        let alert = AlertRecord {
            id: id.into(),
            line: "tunnel-1".into(),
            kind: "zone3-limit".into(),
            state: to.name().into(),
            began: NOW,
            raised: NOW,
            ended: None,
            json: json.to_string(),
        };
        AlertStep { number, from: from.map(|state| state.name().into()), to: to.name().into(), alert }
    }

    /// What is decided, as `alert: told, waiting id`.
    fn decide(steps: &[AlertStep], known: &[NoticeRecord]) -> Vec<String> {
        let calendar = ShiftCalendar::new(Tz::UTC, Vec::new());
        let records = decided(&Rule::default(), steps, known, NOW, &calendar).unwrap();
        let id = |record: &NoticeRecord| record.waiting.as_ref().map(|notice| notice.id.clone());
        records.iter().map(|record| format!("{}: {:?}, {:?}", record.alert, record.told, id(record))).collect()
    }

    use AlertState::{Acknowledged, Shelved, Unacknowledged};

    #[test]
    fn an_alert_that_has_come_several_steps_is_told_once_as_it_is_now() {
        let raised = step(7, "01A", None, Unacknowledged);
        let other = step(8, "01B", None, Unacknowledged);
        let comment = step(9, "01A", Some(Unacknowledged), Unacknowledged);
        let told = decide(&[raised, other, comment], &[]);
        assert_eq!(told, ["01B: None, Some(\"01B-raised-8\")", "01A: None, Some(\"01A-raised-9\")"]);
    }

    #[test]
    fn a_comment_makes_nothing_call_that_called_before() {
        assert_eq!(decide(&[step(9, "01A", Some(Unacknowledged), Unacknowledged)], &[]), ["01A: None, None"]);
        let released = step(10, "01A", Some(Shelved), Unacknowledged);
        assert_eq!(decide(&[released], &[]), ["01A: None, Some(\"01A-raised-10\")"]);
    }

    #[test]
    fn what_a_receiver_was_told_is_kept_beside_what_waits() {
        let known = NoticeRecord { alert: "01A".into(), told: Some("raised".into()), waiting: None };
        let answered = step(8, "01A", Some(Unacknowledged), Acknowledged);
        assert_eq!(decide(&[answered], &[known]), ["01A: Some(\"raised\"), Some(\"01A-answered-8\")"]);
    }
}

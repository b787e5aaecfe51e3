//! What receivers were told and what waits: decided and noted together, and at most one notice an alert.

use std::error::Error;

use reading::{Span, Timestamp};

use super::fixture::{MONDAY, open};
use crate::{AlertChange, AlertRecord, AlertStep, AlertUpdate, NoticeRecord, Store, StoreError, WaitingNotice};

const MAIL: &str = "leads/ann@millbrook.example";

/// An alert comes to a state.
fn step(store: &Store, id: &str, state: &str) {
    let alert = AlertRecord {
        id: id.into(),
        line: "tunnel-1".into(),
        kind: "zone3-limit".into(),
        state: state.into(),
        began: MONDAY,
        raised: MONDAY,
        ended: None,
        json: "{}".into(),
    };
    let change = AlertChange { time: MONDAY, who: "ovenward".into(), what: state.into(), state: state.into() };
    let update = AlertUpdate { alerts: vec![(alert, change)], ..AlertUpdate::default() };
    store.change_alerts(&[], |_| Ok::<_, StoreError>((update, ()))).unwrap();
}

fn waiting(id: &str, due: Timestamp) -> Option<WaitingNotice> {
    Some(WaitingNotice { id: id.into(), event: "raised".into(), due, attempts: 0, next_attempt: due })
}

fn record(alert: &str, notice: &str, due: Timestamp) -> NoticeRecord {
    NoticeRecord { alert: alert.into(), told: None, waiting: waiting(notice, due) }
}

/// What was there to decide on: steps as `alert: from to`, and what was known.
fn decide(store: &Store, limit: usize, records: &[NoticeRecord]) -> (Vec<String>, Vec<NoticeRecord>) {
    let mut seen = (Vec::new(), Vec::new());
    store
        .decide_notices(MAIL, limit, |steps, known| {
            let text = |step: &AlertStep| format!("{}: {:?} {}", step.alert.id, step.from.as_deref(), step.to);
            seen = (steps.iter().map(text).collect(), known.to_vec());
            Ok::<_, StoreError>(records.to_vec())
        })
        .unwrap();
    seen
}

fn due(store: &Store, now: Timestamp) -> Vec<String> {
    store
        .due_notices(MAIL, now)
        .unwrap()
        .into_iter()
        .map(|(notice, alert)| format!("{} {}", notice.id, alert.id))
        .collect()
}

#[test]
fn a_receiver_hears_from_its_naming_on_and_sees_every_step_once() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    step(&store, "01A", "unacknowledged");
    store.keep_receivers(&[MAIL]).unwrap();
    step(&store, "01A", "acknowledged");
    step(&store, "01B", "unacknowledged");
    assert_eq!(decide(&store, 1, &[]).0, [r#"01A: Some("unacknowledged") acknowledged"#]);
    // Named again after a restart, it goes on where it was.
    drop(store);
    let store = open(folder.path());
    store.keep_receivers(&[MAIL]).unwrap();
    assert_eq!(decide(&store, 9, &[]).0, ["01B: None unacknowledged"]);
    assert_eq!(decide(&store, 9, &[]), Default::default(), "nothing is left, and nobody is asked");
}

#[test]
fn what_was_decided_waits_over_a_restart_until_it_was_told() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.keep_receivers(&[MAIL]).unwrap();
    step(&store, "01A", "unacknowledged");
    decide(&store, 9, &[record("01A", "first", MONDAY)]);
    drop(store);
    let store = open(folder.path());
    assert_eq!((due(&store, MONDAY), store.notices_waiting().unwrap()), (vec!["first 01A".to_owned()], 1));
    // A newer one takes its place.
    step(&store, "01A", "acknowledged");
    let (_, known) = decide(&store, 9, &[record("01A", "second", MONDAY)]);
    assert_eq!(known, [record("01A", "first", MONDAY)]);
    assert_eq!(due(&store, MONDAY), ["second 01A"]);

    store.notices_told(MAIL, &["first", "second"], "ended").unwrap();
    assert_eq!((due(&store, MONDAY), store.notices_waiting().unwrap()), (Vec::new(), 0));
    step(&store, "01A", "unacknowledged");
    let (_, known) = decide(&store, 9, &[]);
    assert_eq!(known, [NoticeRecord { alert: "01A".into(), told: Some("raised".into()), waiting: None }]);
}

#[test]
fn a_refusal_changes_nothing_and_the_steps_come_again() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.keep_receivers(&[MAIL]).unwrap();
    step(&store, "01A", "unacknowledged");
    let refused = store.decide_notices(MAIL, 9, |_, _| Err::<_, Box<dyn Error>>("unreadable".into()));
    assert_eq!(refused.unwrap_err().to_string(), "unreadable");
    assert_eq!(decide(&store, 9, &[]).0.len(), 1);
}

#[test]
fn what_failed_is_tried_again_later_and_after_what_was_never_tried() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.keep_receivers(&[MAIL]).unwrap();
    let minute = |minutes| MONDAY + Span::minutes(minutes);
    for id in ["01A", "01B"] {
        step(&store, id, "unacknowledged");
    }
    decide(&store, 9, &[record("01A", "a", MONDAY), record("01B", "b", minute(1))]);
    assert_eq!(due(&store, MONDAY), ["a 01A"], "b is not due yet");
    store.postpone_notices(MAIL, &["a"], minute(2)).unwrap();
    assert_eq!(due(&store, minute(1)), ["b 01B"]);
    assert_eq!(due(&store, minute(2)), ["b 01B", "a 01A"]);
    assert_eq!(store.due_notices(MAIL, minute(2)).unwrap()[1].0.attempts, 1);
}

#[test]
fn what_is_over_and_who_is_no_longer_named_is_forgotten() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.keep_receivers(&[MAIL]).unwrap();
    for id in ["01A", "01B"] {
        step(&store, id, "unacknowledged");
    }
    decide(&store, 9, &[record("01A", "a", MONDAY), record("01B", "b", MONDAY)]);
    store.notices_told(MAIL, &["a"], "raised").unwrap();
    step(&store, "01A", "returned-acknowledged");
    assert_eq!(decide(&store, 9, &[]).1, [], "nothing is known of it any more");
    store.keep_receivers(&[]).unwrap();
    assert_eq!(store.notices_waiting().unwrap(), 0);
    step(&store, "01C", "unacknowledged");
    store.keep_receivers(&[MAIL]).unwrap();
    assert_eq!(decide(&store, 9, &[]), Default::default(), "it begins anew, at the present");
}

//! Alerts, what people do about them and the messages that tell of it: together or not at all.

use std::sync::Barrier;
use std::thread;

use reading::{Span, Timestamp};

use super::fixture::{HOUR, MONDAY, open};
use crate::{
    AlertBook, AlertChange, AlertQuery, AlertRecord, AlertUpdate, OutboxMessage, Store, StoreError, SuppressionEnd,
    SuppressionRecord,
};

fn raised(id: &str) -> AlertRecord {
    AlertRecord {
        id: id.into(),
        line: "tunnel-1".into(),
        kind: "unmatched-speed-rise".into(),
        state: "unacknowledged".into(),
        began: MONDAY,
        raised: MONDAY + Span::minutes(2),
        ended: None,
        json: format!(r#"{{"id":"{id}"}}"#),
    }
}

fn change(who: &str, what: &str) -> AlertChange {
    AlertChange { time: MONDAY, who: who.into(), what: what.into(), state: "unacknowledged".into() }
}

fn message(text: &str) -> OutboxMessage {
    OutboxMessage { topic: "ovenward/millbrook/x".into(), payload: text.into(), retain: true }
}

fn put(store: &Store, alert: &AlertRecord, change: AlertChange, texts: &[&str]) {
    let messages = texts.iter().map(|text| message(text)).collect();
    let update = AlertUpdate { alerts: vec![(alert.clone(), change)], messages, ..AlertUpdate::default() };
    store.change_alerts(&[], |_| Ok::<_, StoreError>((update, ()))).unwrap();
}

fn shelf(reason: &str) -> SuppressionRecord {
    SuppressionRecord {
        line: "tunnel-1".into(),
        kind: "zone3-limit".into(),
        since: MONDAY,
        until: Some(MONDAY + HOUR),
        reason: reason.into(),
        who: "Ann".into(),
    }
}

fn shelf_ends(time: Timestamp) -> SuppressionEnd {
    SuppressionEnd { line: "tunnel-1".into(), kind: "zone3-limit".into(), time, who: "Ben".into() }
}

#[test]
fn an_alert_its_history_and_its_messages_outlive_a_restart() {
    let folder = tempfile::tempdir().unwrap();
    let first = raised("01A");
    let later = AlertRecord { line: "tunnel-2".into(), raised: MONDAY + HOUR, ..raised("01B") };
    let over = AlertRecord { state: "returned".into(), ended: Some(MONDAY + HOUR), ..first.clone() };
    {
        let store = open(folder.path());
        put(&store, &first, change("service", "raised"), &["one", "two"]);
        put(&store, &later, change("service", "raised"), &[]);
        assert_eq!(store.standing_alerts().unwrap(), [first.clone(), later.clone()]);
        put(&store, &over, change("lead", "acknowledged"), &["three"]);
    }
    let store = open(folder.path());
    assert_eq!(store.standing_alerts().unwrap(), std::slice::from_ref(&later));
    assert_eq!(store.alerts(&AlertQuery::default()).unwrap(), [over.clone(), later.clone()]);
    let of = |query: AlertQuery| store.alerts(&query).unwrap().into_iter().map(|alert| alert.id).collect::<Vec<_>>();
    assert_eq!(of(AlertQuery { from: Some(MONDAY + HOUR), ..AlertQuery::default() }), ["01B"]);
    assert_eq!(of(AlertQuery { to: Some(MONDAY + HOUR), ..AlertQuery::default() }), ["01A"]);
    assert_eq!(of(AlertQuery { line: Some("tunnel-2".into()), ..AlertQuery::default() }), ["01B"]);
    assert_eq!(of(AlertQuery { state: Some("returned".into()), ..AlertQuery::default() }), ["01A"]);
    assert_eq!(store.alert_history("01A").unwrap(), [change("service", "raised"), change("lead", "acknowledged")]);
    let texts: Vec<_> = store.outbox_next(0, 9).unwrap().into_iter().map(|outgoing| outgoing.message).collect();
    assert_eq!(texts, [message("one"), message("two"), message("three")]);
}

#[test]
fn a_change_is_decided_on_what_stands_and_on_what_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let over = AlertRecord { ended: Some(MONDAY + HOUR), ..raised("01A") };
    put(&store, &over, change("service", "ended"), &[]);
    put(&store, &AlertRecord { ended: Some(MONDAY), ..raised("01B") }, change("service", "ended"), &[]);
    put(&store, &raised("01C"), change("service", "raised"), &[]);
    let seen = |ids: &[&str]| {
        let seen = |book: &AlertBook| book.alerts.iter().map(|alert| alert.id.clone()).collect::<Vec<_>>();
        store.change_alerts(ids, |book| Ok::<_, StoreError>((AlertUpdate::default(), seen(book)))).unwrap()
    };
    assert_eq!(seen(&[]), ["01C"]);
    assert_eq!(seen(&["01C", "01A", "01Z"]), ["01A", "01C"]);
}

#[test]
fn what_is_refused_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let refused: Result<(), Refused> = store.change_alerts(&[], |_| Err(Refused));
    assert!(refused.is_err());
    // Two shelves of one line and kind: the database refuses the second, and nothing of the update stays.
    let twice = AlertUpdate {
        alerts: vec![(raised("01A"), change("service", "raised"))],
        suppressed: vec![shelf("one"), shelf("two")],
        messages: vec![message("one")],
        ..AlertUpdate::default()
    };
    store.change_alerts(&[], |_| Ok::<_, StoreError>((twice, ()))).unwrap_err();
    assert_eq!(store.alert_book().unwrap(), AlertBook::default());
    assert_eq!(store.outbox_len().unwrap(), 0);
}

#[derive(Debug)]
struct Refused;

impl From<StoreError> for Refused {
    fn from(error: StoreError) -> Self {
        panic!("{error}")
    }
}

#[test]
fn a_shelf_outlives_a_restart_and_its_end_leaves_room_for_the_next() {
    let folder = tempfile::tempdir().unwrap();
    let write = |update: AlertUpdate| {
        open(folder.path()).change_alerts(&[], |_| Ok::<_, StoreError>((update, ()))).unwrap();
    };
    write(AlertUpdate { suppressed: vec![shelf("one")], ..AlertUpdate::default() });
    assert_eq!(open(folder.path()).alert_book().unwrap().suppressions, [shelf("one")]);
    let released = vec![shelf_ends(MONDAY + Span::minutes(9))];
    write(AlertUpdate { released: released.clone(), suppressed: vec![shelf("two")], ..AlertUpdate::default() });
    assert_eq!(open(folder.path()).alert_book().unwrap().suppressions, [shelf("two")]);
    write(AlertUpdate { released, ..AlertUpdate::default() });
    assert_eq!(open(folder.path()).alert_book().unwrap().suppressions, []);
}

#[test]
fn the_newest_alerts_are_read_page_by_page_and_what_is_raised_meanwhile_shifts_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    // Two are raised at the same moment; one is over.
    let at = |id: &str, hours: i64| AlertRecord { raised: MONDAY + Span(hours * HOUR.0), ..raised(id) };
    let over = AlertRecord { ended: Some(MONDAY + Span(9 * HOUR.0)), ..at("01C", 2) };
    for alert in [&at("01A", 1), &at("01B", 2), &over, &at("01D", 3)] {
        put(&store, alert, change("service", "raised"), &[]);
    }
    let page = |query: &AlertQuery, standing, after, limit| -> Vec<String> {
        let alerts = store.newest_alerts(query, standing, after, limit).unwrap();
        alerts.into_iter().map(|alert| alert.id).collect()
    };
    let all = AlertQuery::default();
    assert_eq!(page(&all, false, None, 2), ["01D", "01C"]);
    put(&store, &at("01E", 4), change("service", "raised"), &[]);
    assert_eq!(page(&all, false, Some("01C"), 2), ["01B", "01A"]);
    assert_eq!(page(&all, false, Some("01A"), 2), [""; 0]);
    assert_eq!(page(&all, false, Some("01X"), 2), [""; 0], "it is not kept");
    assert_eq!(page(&all, true, None, 9), ["01E", "01D", "01B", "01A"]);
    let early = AlertQuery { to: Some(MONDAY + Span(3 * HOUR.0)), ..AlertQuery::default() };
    assert_eq!(page(&early, false, None, 9), ["01C", "01B", "01A"]);
    let other = AlertQuery { line: Some("tunnel-2".into()), ..AlertQuery::default() };
    assert_eq!(page(&other, false, None, 9), [""; 0]);
}

#[test]
fn a_change_is_known_by_its_number_and_another_journal_has_another_there() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    put(&store, &raised("01A"), AlertChange { time: MONDAY + HOUR, ..change("service", "raised") }, &[]);
    put(&store, &raised("01B"), change("service", "raised"), &[]);
    assert_eq!(store.alert_changed(1).unwrap(), Some(("01A".into(), MONDAY + HOUR)));
    assert_eq!(store.alert_changed(store.newest_alert_change().unwrap()).unwrap(), Some(("01B".into(), MONDAY)));
    assert_eq!(store.alert_changed(3).unwrap(), None);
}

/// Two processes at once: one ends alerts, one answers them. Each decides on what the other has written.
#[test]
fn an_end_and_an_answer_at_the_same_moment_both_count() {
    let folder = tempfile::tempdir().unwrap();
    let [detection, person] = [open(folder.path()), open(folder.path())];
    let ids: Vec<String> = (0..40).map(|number| format!("{number:02}")).collect();
    for id in &ids {
        put(&detection, &raised(id), change("service", "raised"), &[]);
    }
    let together = Barrier::new(2);
    let append = |store: &Store, word: &str, ended: Option<Timestamp>| {
        together.wait();
        for id in &ids {
            let decided = store.change_alerts(&[id.as_str()], |book| {
                let mut alert = book.alerts.iter().find(|alert| alert.id == *id).unwrap().clone();
                alert.state = format!("{}+{word}", alert.state);
                alert.ended = ended.or(alert.ended);
                let update = AlertUpdate { alerts: vec![(alert, change(word, word))], ..AlertUpdate::default() };
                Ok::<_, StoreError>((update, ()))
            });
            decided.unwrap();
        }
    };
    thread::scope(|scope| {
        scope.spawn(|| append(&detection, "ended", Some(MONDAY + HOUR)));
        scope.spawn(|| append(&person, "answered", None));
    });
    for alert in open(folder.path()).alerts(&AlertQuery::default()).unwrap() {
        assert!(alert.state.contains("+ended") && alert.state.contains("+answered"), "{alert:?}");
        assert_eq!(alert.ended, Some(MONDAY + HOUR));
    }
}

#[test]
fn an_alert_is_found_by_the_beginning_or_the_end_of_its_id() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    for id in ["01AXB", "01BXA"] {
        put(&store, &raised(id), change("service", "raised"), &[]);
    }
    let called = |part| store.alerts_called(part).unwrap().into_iter().map(|alert| alert.id).collect::<Vec<_>>();
    assert_eq!(called("01A"), ["01AXB"]);
    assert_eq!(called("XA"), ["01BXA"]);
    assert_eq!(called("01"), ["01AXB", "01BXA"]);
    for none in ["X", "%", "01_", "01AXBC"] {
        assert_eq!(called(none), [""; 0], "{none}");
    }
}

//! What goes in comes out, once, also after the store was opened again.

use reading::{LineIndex, NumberSeries, Quality, Reading, SignalId, Span, Timestamp};

use super::fixture::{
    DEW, HOUR, MONDAY, PRODUCT, SECOND_SPEED, SPEED, all, number, open, plant, product, signals, span,
};
use crate::{Gap, GapCause, OutboxMessage, Store};

#[test]
fn a_reading_handed_over_twice_is_stored_once() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let first = [number(SPEED, MONDAY, 1.2), number(DEW, MONDAY, 80.0)];
    assert_eq!(store.commit(&first, &[]).unwrap().new, [true, true]);
    let second = [number(SPEED, MONDAY, 9.9), number(SPEED, MONDAY + HOUR, 1.3), number(SPEED, MONDAY + HOUR, 1.4)];
    let committed = store.commit(&second, &[]).unwrap();
    assert_eq!(committed.new, [false, true, false]);
    assert_eq!((committed.stored, committed.already_there), (1, 2));
    assert_eq!(all(&store), [first[0].clone(), first[1].clone(), second[1].clone()]);
}

#[test]
fn a_store_opened_again_has_everything_in_order() {
    let folder = tempfile::tempdir().unwrap();
    let mut readings = span(MONDAY, MONDAY + HOUR);
    readings[0].quality = Quality::Bad;
    readings[1].quality = Quality::Uncertain;
    let mut shuffled = readings.clone();
    shuffled.reverse();
    open(folder.path()).commit(&shuffled, &[]).unwrap();
    let store = open(folder.path());
    assert_eq!(all(&store), readings);
    assert_eq!(store.span().unwrap(), Some((MONDAY, MONDAY + Span::minutes(59))));
}

#[test]
fn numbers_are_those_of_one_line_and_of_the_half_open_span() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.commit(&span(MONDAY, MONDAY + HOUR), &[]).unwrap();
    let (from, to) = (MONDAY + Span::minutes(10), MONDAY + Span::minutes(12));
    let stored = store.series(LineIndex(0), from, to).unwrap();
    let series = |signal, seconds: [i64; 2]| NumberSeries {
        time_us: seconds.map(|seconds| (MONDAY + Span::seconds(seconds)).0).to_vec(),
        quality: vec![192; 2],
        value: stored.numbers.iter().find(|series| series.signal == signal).unwrap().value.clone(),
        signal,
    };
    assert_eq!(stored.numbers, [series(SPEED, [600, 660]), series(DEW, [600, 660])]);
    assert_eq!(stored.texts, []);
}

#[test]
fn readings_come_by_hours_and_gaps_are_jumped_over() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let much_later = MONDAY + Span::minutes(60 * 24 * 400) + Span::minutes(7);
    store.commit(&[number(SPEED, MONDAY, 1.0), number(SPEED, MONDAY + HOUR, 2.0)], &[]).unwrap();
    store.commit(&[number(SPEED, much_later, 3.0)], &[]).unwrap();
    let stretches: Vec<Vec<Reading>> =
        store.readings(None, Timestamp(i64::MIN), Timestamp(i64::MAX)).map(Result::unwrap).collect();
    assert_eq!(stretches.iter().map(Vec::len).collect::<Vec<_>>(), [1, 1, 1]);
}

#[test]
fn the_product_in_force_is_the_last_one_before_that_is_not_bad() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let bad = Reading { quality: Quality::Bad, ..product(MONDAY + HOUR + HOUR, "B400") };
    store.commit(&[product(MONDAY, "T800"), product(MONDAY + HOUR, "B600"), bad], &[]).unwrap();
    let before = |time| store.last_text_before(PRODUCT, time).unwrap().map(|(time, text)| (time, text.to_string()));
    assert_eq!(before(MONDAY), None);
    assert_eq!(before(MONDAY + HOUR), Some((MONDAY, "T800".into())));
    assert_eq!(before(MONDAY + Span::minutes(600)), Some((MONDAY + HOUR, "B600".into())));
}

#[test]
fn a_changed_config_reads_what_was_stored_under_the_old_one() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.commit(&span(MONDAY, MONDAY + HOUR), &[]).unwrap();
    let stored = store.series(LineIndex(0), MONDAY, MONDAY + HOUR).unwrap();

    // The second line's band comes first now, and the dew point is no longer measured.
    let mut changed = signals();
    changed.swap(0, 3);
    changed.remove(2);
    let reopened = Store::open(folder.path(), &plant(changed)).unwrap();
    let series = reopened.series(LineIndex(0), MONDAY, MONDAY + HOUR).unwrap();
    let [speed] = series.numbers.as_slice() else { panic!("{series:?}") };
    assert_eq!((speed.signal, &speed.value), (SignalId(2), &stored.numbers[0].value));
    let gone = reopened.tags().unwrap().into_iter().find(|tag| tag.signal.is_none()).unwrap();
    assert_eq!(gone.name, "mill/tunnel-1/z1/dew");

    let again = open(folder.path());
    assert_eq!(again.series(LineIndex(0), MONDAY, MONDAY + HOUR).unwrap(), stored);
}

#[test]
fn a_signal_of_another_config_is_an_error_that_stores_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let error = store.commit(&[number(SECOND_SPEED, MONDAY, 1.0), number(SignalId(4), MONDAY, 1.0)], &[]).unwrap_err();
    assert!(error.to_string().contains("signal 4 is not one of this config's 4"), "{error}");
    assert!(!error.retryable());
    assert_eq!(all(&store), []);
}

#[test]
fn the_outbox_hands_out_in_order_and_keeps_what_is_not_done() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let message = |text: &str| OutboxMessage { topic: "t".into(), payload: text.into(), retain: false };
    store.enqueue(&["a", "b", "c"].map(message)).unwrap();
    let waiting = store.outbox_next(0, 2).unwrap();
    assert_eq!(waiting.iter().map(|outgoing| &*outgoing.message.payload).collect::<Vec<_>>(), [b"a", b"b"]);
    store.outbox_done(&[waiting[1].id]).unwrap();
    let store = open(folder.path());
    let rest: Vec<_> = store.outbox_next(0, 9).unwrap().into_iter().map(|outgoing| outgoing.message).collect();
    assert_eq!(rest, ["a", "c"].map(message));
    assert_eq!(store.outbox_next(waiting[0].id, 9).unwrap().len(), 1);
    store
        .outbox_done(&store.outbox_next(0, 9).unwrap().iter().map(|outgoing| outgoing.id).collect::<Vec<_>>())
        .unwrap();
    store.enqueue(&[message("d")]).unwrap();
    // An id is never used again, so a late acknowledgement can't remove another message.
    assert!(store.outbox_next(0, 9).unwrap()[0].id > waiting[1].id + 1);
    assert_eq!(store.outbox_len().unwrap(), 1);
}

#[test]
fn a_note_is_the_last_one_set() {
    let folder = tempfile::tempdir().unwrap();
    open(folder.path()).set_meta("position", "1").unwrap();
    let store = open(folder.path());
    store.set_meta("position", "2").unwrap();
    assert_eq!(store.meta("position").unwrap().as_deref(), Some("2"));
    assert_eq!(store.meta("other").unwrap(), None);
    let beside = [("node/a", "1"), ("node/b", "2"), ("nodes", "3"), ("node/a", "4")];
    store.commit_noting(&[], &[], &beside.map(|(key, value)| (key.to_owned(), value.to_owned()))).unwrap();
    let noted = store.metas("node/").unwrap();
    assert_eq!(noted, [("node/a", "4"), ("node/b", "2")].map(|(key, value)| (key.to_owned(), value.to_owned())));
}

#[test]
fn gaps_are_kept_and_those_that_touch_are_one() {
    let folder = tempfile::tempdir().unwrap();
    let at = |minute| MONDAY + Span::minutes(minute);
    let gap = |began, ended, cause, lost| Gap { began: at(began), ended: at(ended), cause, lost };
    let store = open(folder.path());
    store.record_gap(&gap(0, 10, GapCause::BrokerDropped, Some(5))).unwrap();
    store.record_gap(&gap(10, 11, GapCause::BrokerDropped, Some(7))).unwrap();
    store.record_gap(&gap(11, 30, GapCause::SessionLost, None)).unwrap();
    store.record_gap(&gap(31, 32, GapCause::SessionLost, None)).unwrap();
    let store = open(folder.path());
    let kept = [
        gap(0, 11, GapCause::BrokerDropped, Some(12)),
        gap(11, 30, GapCause::SessionLost, None),
        gap(31, 32, GapCause::SessionLost, None),
    ];
    assert_eq!(store.gaps(Timestamp(i64::MIN), Timestamp(i64::MAX)).unwrap(), kept);
    assert_eq!(store.gaps(at(11), at(31)).unwrap(), kept[1..2]);
}

//! Full disks, damaged databases, and a quarantine that stays within its bounds.

use reading::{Span, Timestamp};

use super::fixture::{MONDAY, SPEED, all, number, open, span};
use crate::{QUARANTINE_AGE, QUARANTINE_PAYLOAD, QUARANTINE_ROWS, Quarantined};

#[test]
fn a_full_disk_is_recognised_and_nothing_is_lost_when_there_is_room_again() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let kept = span(MONDAY, MONDAY + Span::minutes(5));
    store.commit(&kept, &[]).unwrap();
    store.inner.database.limit_pages(Some(1));
    let more = span(MONDAY, MONDAY + Span::minutes(24 * 60));
    for _ in 0..2 {
        let error = store.commit(&more, &[]).unwrap_err();
        assert!(error.is_disk_full() && error.retryable() && !error.is_refusal(), "{error}");
        assert!(error.to_string().contains("make room"), "{error}");
        assert_eq!(all(&store), kept);
    }
    store.inner.database.limit_pages(None);
    assert_eq!(store.commit(&more, &[]).unwrap().already_there, kept.len());
    assert_eq!(all(&store), more);
}

#[test]
fn after_a_failure_of_the_database_the_store_refuses_to_write_until_the_disk_is_well_again() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.commit(&[number(SPEED, MONDAY, 1.0)], &[]).unwrap();
    store.inner.database.make_writer_read_only(true);
    let error = store.commit(&[number(SPEED, MONDAY + Span::seconds(1), 1.0)], &[]).unwrap_err();
    assert!(!error.retryable() && !error.is_refusal(), "{error}");
    assert!(store.refuses());
    store.inner.database.make_writer_read_only(false);
    let error = store.set_meta("a", "b").unwrap_err();
    assert!(error.is_refusal() && error.to_string().contains("refuses to write"), "{error}");
    assert_eq!(all(&store).len(), 1, "it still reads");
    open(folder.path()).set_meta("a", "b").unwrap();
    store.recover().unwrap();
    assert!(!store.refuses());
    store.commit(&[number(SPEED, MONDAY + Span::seconds(1), 1.0)], &[]).unwrap();
    assert_eq!(all(&store).len(), 2);
}

#[test]
fn a_store_recovers_only_when_what_it_wrote_is_safe() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let readings = span(MONDAY, MONDAY + Span::minutes(60));
    store.commit(&readings, &[]).unwrap();
    store.inner.database.make_writer_read_only(true);
    store.set_meta("a", "b").unwrap_err();
    // The log cannot be written into the database while somebody still reads an older state of it.
    let reader = rusqlite::Connection::open(folder.path().join("hot.db")).unwrap();
    reader.execute_batch("BEGIN; SELECT count(*) FROM reading;").unwrap();
    let writer = rusqlite::Connection::open(folder.path().join("hot.db")).unwrap();
    writer.execute("INSERT INTO meta VALUES ('x', 'y')", []).unwrap();
    let error = store.recover().unwrap_err();
    assert!(error.to_string().contains("somebody reads"), "{error}");
    assert!(store.refuses());
    reader.execute_batch("COMMIT").unwrap();
    store.recover().unwrap();
    assert_eq!(all(&store), readings);
}

#[test]
fn a_database_of_a_newer_program_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    open(folder.path());
    let path = folder.path().join("hot.db");
    rusqlite::Connection::open(&path).unwrap().pragma_update(None, "user_version", 99).unwrap();
    let plant = super::fixture::plant(Vec::new());
    let error = crate::Store::open(folder.path(), &plant).err().unwrap();
    assert!(error.to_string().contains("version 99"), "{error}");
    assert_eq!(error.file(), path);
}

fn payload(received: Timestamp, reason: &str, payload: Vec<u8>) -> Quarantined {
    Quarantined { received, topic: "mill/x".into(), payload, reason: reason.into(), detail: "no number".into() }
}

#[test]
fn a_quarantined_payload_is_kept_as_it_came() {
    let folder = tempfile::tempdir().unwrap();
    let odd = payload(MONDAY, "unreadable", vec![0xff, 0, 1]);
    let store = open(folder.path());
    store.commit(&[], std::slice::from_ref(&odd)).unwrap();
    let long = payload(MONDAY, "unknown-topic", vec![b'x'; QUARANTINE_PAYLOAD + 1]);
    store.commit(&[], &[long]).unwrap();
    let entries = store.quarantine(9).unwrap();
    assert_eq!(entries[1].quarantined, odd);
    assert_eq!(entries[0].quarantined.payload.len(), QUARANTINE_PAYLOAD);
    store.commit_released(&[number(SPEED, MONDAY, 1.0)], &[entries[0].id]).unwrap();
    assert_eq!(all(&store).len(), 1);
    assert_eq!(store.quarantine(9).unwrap().len(), 1);
    assert_eq!(store.quarantine_counts().unwrap(), [("unknown-topic".into(), 1), ("unreadable".into(), 1)]);
}

#[test]
fn the_quarantine_is_bounded_by_number_and_age_and_the_counts_go_on() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let flood: Vec<Quarantined> =
        (0..QUARANTINE_ROWS + 5).map(|second| payload(MONDAY + Span::seconds(second), "unreadable", vec![1])).collect();
    store.commit(&[], &flood).unwrap();
    let count = || store.quarantine(usize::MAX >> 1).unwrap().len();
    assert_eq!(count(), QUARANTINE_ROWS as usize);
    let later: Vec<Quarantined> =
        (0..10).map(|_| payload(MONDAY + QUARANTINE_AGE + Span::seconds(15), "unreadable", vec![1])).collect();
    store.commit(&[], &later).unwrap();
    assert_eq!(store.quarantine(1).unwrap()[0].quarantined.received, later[0].received);
    store.commit(&[], &[payload(MONDAY + QUARANTINE_AGE + QUARANTINE_AGE, "unreadable", vec![1])]).unwrap();
    assert!(
        store.quarantine(usize::MAX >> 1).unwrap().last().unwrap().quarantined.received > MONDAY + Span::seconds(15)
    );
    assert_eq!(store.quarantine_counts().unwrap(), [("unreadable".into(), flood.len() + 11)]);
}

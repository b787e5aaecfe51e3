//! Reading, storing and sealing at the same time.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread;

use reading::Span;

use super::fixture::{DAY, HOUR, MONDAY, all, open, span};
use crate::SEAL_AFTER;

#[test]
fn who_reads_while_hours_are_sealed_and_days_joined_sees_each_reading_once() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    // What another process would see: nothing in memory is shared with the one that seals.
    let other = open(folder.path());
    let readings = span(MONDAY, MONDAY + DAY + HOUR + HOUR);
    store.commit(&readings, &[]).unwrap();
    let done = AtomicBool::new(false);
    let looks = AtomicUsize::new(0);
    thread::scope(|scope| {
        for reader in [&store, &other] {
            scope.spawn(|| {
                while !done.load(Ordering::SeqCst) {
                    assert_eq!(all(reader), readings);
                    looks.fetch_add(1, Ordering::SeqCst);
                }
            });
        }
        let mut joined = 0;
        for hour in 1..=26 {
            let sealed = store.seal(MONDAY + Span::minutes(60 * hour) + SEAL_AFTER).unwrap();
            joined += sealed.joined_days;
        }
        done.store(true, Ordering::SeqCst);
        assert_eq!(joined, 2);
    });
    assert!(looks.into_inner() > 10, "the readers had a look now and then");
    assert_eq!(store.size().unwrap().hot_readings, 0);
}

#[test]
fn two_processes_store_and_seal_the_same_history_without_a_duplicate() {
    let folder = tempfile::tempdir().unwrap();
    let stores = [open(folder.path()), open(folder.path())];
    let readings = span(MONDAY, MONDAY + DAY);
    let stored: usize = thread::scope(|scope| {
        let load = |store| {
            let readings = &readings;
            move || {
                let store: &crate::Store = store;
                let parts = readings.chunks(500).map(|part| {
                    let stored = store.commit(part, &[]).unwrap().stored;
                    store.seal(MONDAY + DAY + DAY).unwrap();
                    stored
                });
                parts.sum::<usize>()
            }
        };
        let handles = stores.each_ref().map(|store| scope.spawn(load(store)));
        handles.into_iter().map(|handle| handle.join().unwrap()).sum()
    });
    assert_eq!(stored, readings.len());
    assert_eq!(all(&stores[0]), readings);
}

//! A store that an older program wrote, kept in `version-1`: a day sealed without checksums, two hours hot, an alert with
//! its history, a message that waits. Opened by this program it is the same store.

use std::fs;
use std::path::Path;

use reading::Span;

use super::fixture::{DAY, HOUR, MONDAY, SPEED, all, files, number, open, span};
use crate::AlertQuery;

/// What that program was given: one reading a minute, invented.
const LASTED: Span = Span::minutes(26 * 60);

fn copied_into(folder: &Path) {
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/tests/version-1");
    for name in files(&kept).into_iter().chain(["hot.db".to_owned()]) {
        let copy = folder.join(&name);
        fs::create_dir_all(copy.parent().unwrap()).unwrap();
        fs::copy(kept.join(&name), copy).unwrap();
    }
}

#[test]
fn a_store_of_the_first_version_is_opened_with_all_it_holds() {
    let folder = tempfile::tempdir().unwrap();
    copied_into(folder.path());
    let store = open(folder.path());
    assert!(store.found_at_opening().is_empty(), "{:?}", store.found_at_opening());
    let mut expected = span(MONDAY, MONDAY + LASTED);
    expected.sort_by_key(|reading| (reading.time, reading.signal));
    let mut found = all(&store);
    found.sort_by_key(|reading| (reading.time, reading.signal));
    assert_eq!(found, expected);
    assert!(store.verify().unwrap().is_empty());

    let alerts = store.alerts(&AlertQuery::default()).unwrap();
    assert_eq!((alerts.len(), alerts[0].state.as_str()), (1, "ended"));
    assert_eq!((alerts[0].raised, alerts[0].ended), (MONDAY + HOUR + HOUR, Some(MONDAY + HOUR + HOUR + HOUR)));
    let history = store.alert_history(&alerts[0].id).unwrap();
    let history: Vec<_> = history.iter().map(|change| (change.what.as_str(), change.state.as_str())).collect();
    assert_eq!(history, [("raised", ""), ("ended", "")], "states were not noted then");
    assert_eq!(store.outbox_next(0, 10).unwrap()[0].message.topic, "ovenward/millbrook/tunnel-1/load");
    assert_eq!(store.quarantine(10).unwrap()[0].quarantined.payload, b"fast");
    assert_eq!(store.meta("shift-published/tunnel-1").unwrap().as_deref(), Some("2026-11-02T06:00:00Z"));

    // And it goes on: a redelivery is known again, what is new is stored, hours are sealed.
    let again = number(SPEED, MONDAY, 1.2 + ((MONDAY.0 / 60_000_000) % 7) as f64 / 100.0);
    let new = number(SPEED, MONDAY + LASTED, 1.3);
    let committed = store.commit(&[again, new], &[]).unwrap();
    assert_eq!((committed.already_there, committed.stored), (1, 1));
    store.seal_until(MONDAY + DAY + HOUR).unwrap();
    assert_eq!(all(&store).len(), expected.len() + 1);
    assert!(store.verify().unwrap().is_empty());
}

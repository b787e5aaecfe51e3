//! Who changed what: kept in order, for good, and by whatever name.

use reading::Span;

use super::fixture::{MONDAY, open};

#[test]
fn entries_outlive_a_restart_and_are_listed_the_newest_first() {
    let folder = tempfile::tempdir().unwrap();
    let told = |limit| -> Vec<(i64, String, String)> {
        let entries = open(folder.path()).audit(limit).unwrap();
        entries.into_iter().map(|entry| (entry.id, entry.who, entry.what)).collect()
    };
    open(folder.path()).record_audit(MONDAY, "Ann", "signed in").unwrap();
    // The clock on the wall may be set back: entries stay in the order in which they came.
    open(folder.path()).record_audit(MONDAY - Span::minutes(5), "Ben", "POST /x: 200").unwrap();
    let (first, second) = ((1, "Ann".into(), "signed in".into()), (2, "Ben".into(), "POST /x: 200".into()));
    assert_eq!(told(10), [second.clone(), first]);
    assert_eq!(told(1), [second]);
    assert_eq!(told(0), []);
    assert_eq!(open(folder.path()).audit(1).unwrap()[0].time, MONDAY - Span::minutes(5));
}

#[test]
fn a_name_is_kept_as_it_was_written() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let who = "O'Hara \"Ann\"; DROP TABLE audit; --\u{202e}";
    store.record_audit(MONDAY, who, "").unwrap();
    store.record_audit(MONDAY, "", who).unwrap();
    let entries = store.audit(10).unwrap();
    assert_eq!((entries[1].who.as_str(), entries[1].what.as_str()), (who, ""));
    assert_eq!((entries[0].who.as_str(), entries[0].what.as_str()), ("", who));
}

#[test]
fn nothing_is_kept_twice_and_nothing_gets_lost_while_many_write() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    std::thread::scope(|scope| {
        for writer in 0..4 {
            let store = store.clone();
            scope.spawn(move || (0..25).for_each(|turn| note(&store, writer, turn)));
        }
    });
    let entries = store.audit(1000).unwrap();
    let mut what: Vec<&str> = entries.iter().map(|entry| entry.what.as_str()).collect();
    what.sort_unstable();
    what.dedup();
    assert_eq!((entries.len(), what.len()), (100, 100));
    assert!(entries.windows(2).all(|pair| pair[0].id > pair[1].id));
}

fn note(store: &crate::Store, writer: u32, turn: u32) {
    store.record_audit(MONDAY, "Ann", &format!("{writer} {turn}")).unwrap();
}

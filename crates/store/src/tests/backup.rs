//! A copy of the store is a store, and a second copy takes only what is new.

use std::fs;

use reading::Span;

use super::fixture::{DAY, HOUR, MONDAY, SPEED, all, files, number, open, span};
use crate::BackedUp;

#[test]
fn a_copy_of_the_store_is_a_store_and_follows_it() {
    let (folder, copy) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let store = open(folder.path());
    let mut readings = span(MONDAY, MONDAY + DAY);
    store.commit(&readings, &[]).unwrap();
    store.seal_until(MONDAY + Span::minutes(6 * 60)).unwrap();
    let first = store.backup(copy.path()).unwrap();
    assert_eq!((first.copied, first.bytes, first.removed), (2, store.size().unwrap().sealed_bytes, 0));
    let again = store.backup(copy.path()).unwrap();
    assert_eq!(again, BackedUp::default(), "nothing is new");

    // The day is joined, and the copy of its first hour has to go.
    let late = number(SPEED, MONDAY + DAY, 1.0);
    store.commit(std::slice::from_ref(&late), &[]).unwrap();
    readings.push(late);
    store.seal_until(MONDAY + DAY).unwrap();
    let joined = store.backup(copy.path()).unwrap();
    assert_eq!((joined.copied, joined.removed), (2, 2));
    assert_eq!(files(copy.path()), files(folder.path()));

    store.commit(&[number(SPEED, MONDAY + DAY + HOUR, 1.0)], &[]).unwrap();
    let copied = open(copy.path());
    assert_eq!(all(&copied), readings);
    assert!(copied.found_at_opening().is_empty() && copied.verify().unwrap().is_empty());
}

#[test]
fn a_copy_is_not_made_into_the_store_itself_nor_into_one_in_use() {
    let (folder, other) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (store, _in_use) = (open(folder.path()), open(other.path()));
    for (to, why) in [
        (folder.path().to_owned(), "within the store itself"),
        (folder.path().join("copy"), "within the store itself"),
        (other.path().to_owned(), "somebody works in that folder"),
    ] {
        let error = store.backup(&to).unwrap_err();
        assert!(error.to_string().contains(why), "{error}");
    }
}

#[test]
fn a_copy_that_is_cut_short_leaves_the_earlier_one() {
    let (folder, copy) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let store = open(folder.path());
    let readings = span(MONDAY, MONDAY + HOUR);
    store.commit(&readings, &[]).unwrap();
    store.backup(copy.path()).unwrap();
    store.seal_until(MONDAY + HOUR).unwrap();
    // A folder where the second segment's copy belongs.
    fs::create_dir_all(copy.path().join(&files(folder.path())[1])).unwrap();
    store.backup(copy.path()).unwrap_err();
    assert_eq!(all(&open(copy.path())), readings);
}

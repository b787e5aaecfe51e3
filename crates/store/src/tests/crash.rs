//! The process ends where it must not: at each step of sealing, and while it stores.

use std::env;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};

use reading::{Reading, Span, Timestamp};

use tempfile::TempDir;

use super::fixture::{DAY, DEW, Faults, HOUR, MONDAY, SPEED, all, files, number, open, open_on, span};
use crate::Store;

/// In a child process: the store's folder, and after how many file operations to end.
const FOLDER: &str = "STORE_TEST_FOLDER";
const OPERATIONS: &str = "STORE_TEST_OPERATIONS";

/// Until now the whole day is over: its second half is sealed, then joined with the first.
const MIDNIGHT: Timestamp = Timestamp(MONDAY.0 + DAY.0);

/// A day of one line whose first half is sealed, whose second half is hot, and a late reading.
struct HalfSealed {
    folder: TempDir,
    readings: Vec<Reading>,
}

impl HalfSealed {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = open(folder.path());
        let mut day: Vec<Reading> = (0..24 * 4)
            .flat_map(|quarter| [SPEED, DEW].map(|signal| number(signal, MONDAY + Span::minutes(15 * quarter), 1.5)))
            .collect();
        let evening = day.split_off(day.len() / 2);
        store.commit(&day, &[]).unwrap();
        store.seal_until(evening[0].time).unwrap();
        store.commit(&evening, &[]).unwrap();
        store.commit(&[number(SPEED, MONDAY + Span::seconds(90), 1.6)], &[]).unwrap();
        Self { folder, readings: all(&store) }
    }

    fn copy(&self) -> TempDir {
        let copy = tempfile::tempdir().unwrap();
        for path in files(self.folder.path()).iter().map(String::as_str).chain(["hot.db"]) {
            let to = copy.path().join(path);
            fs::create_dir_all(to.parent().unwrap()).unwrap();
            fs::copy(self.folder.path().join(path), to).unwrap();
        }
        copy
    }
}

/// Everything is there, and one more sealing leaves what an undisturbed one leaves.
fn assert_whole(store: &Store, folder: &Path, readings: &[Reading], when: usize) {
    assert_eq!(all(store), readings, "after {when} operations");
    store.seal_until(MIDNIGHT).unwrap();
    assert_eq!(all(store), readings, "sealed again after {when} operations");
    assert_eq!(store.size().unwrap().hot_readings, 0, "after {when} operations");
    assert_eq!(files(folder).len(), 1, "after {when} operations: {:?}", files(folder));
    assert!(store.verify().unwrap().is_empty(), "after {when} operations");
}

/// How many file operations an undisturbed sealing of this store takes.
fn operations(before: &HalfSealed) -> usize {
    let (folder, faults) = (before.copy(), Faults::default());
    let store = open_on(faults.disk(), folder.path());
    let opened = faults.passed();
    store.seal_until(MIDNIGHT).unwrap();
    faults.passed() - opened
}

#[test]
fn a_sealing_that_fails_at_any_file_operation_loses_nothing_and_is_made_good() {
    let before = HalfSealed::new();
    let operations = operations(&before);
    assert!(operations > 20, "a segment, a joined one, and the removal of two files: {operations}");
    for operation in 0..operations {
        for (lasting, reopen) in [(false, false), (true, true)] {
            let (folder, faults) = (before.copy(), Faults::default());
            let mut store = open_on(faults.disk(), folder.path());
            faults.fail_after(operation, lasting);
            store.seal_until(MIDNIGHT).unwrap_err();
            faults.end();
            assert_eq!(all(&store), before.readings, "after {operation} operations");
            if reopen {
                drop(store);
                store = open(folder.path());
            }
            assert_whole(&store, folder.path(), &before.readings, operation);
        }
    }
}

#[test]
fn a_process_that_ends_at_any_file_operation_of_sealing_leaves_a_whole_store() {
    if let Ok(folder) = env::var(FOLDER) {
        let left: usize = env::var(OPERATIONS).unwrap().parse().unwrap();
        let faults = Faults::default();
        let store = open_on(faults.aborting_disk(), Path::new(&folder));
        faults.fail_after(left, false);
        let ended = store.seal_until(MIDNIGHT);
        panic!("not ended after {left} operations: {ended:?}");
    }
    let before = HalfSealed::new();
    for operation in 0..operations(&before) {
        let folder = before.copy();
        let output = child("a_process_that_ends_at_any_file_operation_of_sealing_leaves_a_whole_store", folder.path())
            .env(OPERATIONS, operation.to_string())
            .stderr(Stdio::piped())
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(!output.status.success() && !said.contains("not ended"), "{said}");
        assert_whole(&open(folder.path()), folder.path(), &before.readings, operation);
    }
}

#[test]
fn a_dropping_that_fails_at_any_file_operation_drops_whole_days_and_nothing_else() {
    let before = HalfSealed::new();
    let tomorrow: Vec<Reading> = (0..8).map(|hour| number(SPEED, MIDNIGHT + Span::minutes(60 * hour), 2.0)).collect();
    let store = open(before.folder.path());
    store.seal_until(MIDNIGHT).unwrap();
    store.commit(&[number(SPEED, MONDAY + Span::seconds(91), 1.6)], &[]).unwrap();
    store.commit(&tomorrow, &[]).unwrap();
    store.seal_until(MIDNIGHT + DAY).unwrap();
    drop(store);
    for operation in 0..2 {
        let (folder, faults) = (before.copy(), Faults::default());
        let store = open_on(faults.disk(), folder.path());
        faults.fail_after(operation, false);
        store.drop_before(MIDNIGHT).unwrap_err();
        faults.end();
        assert_eq!(all(&store), tomorrow);
        // What the failed call left behind counts as kept; some of it has to be sealed anew.
        store.seal_until(MIDNIGHT).unwrap();
        store.drop_before(MIDNIGHT).unwrap();
        assert_eq!(all(&store), tomorrow);
        assert_eq!(files(folder.path()).len(), 1);
        assert!(store.verify().unwrap().is_empty());
    }
}

#[test]
fn a_killed_process_keeps_every_reading_that_it_acknowledged() {
    if let Ok(folder) = env::var(FOLDER) {
        store_for_ever(&open(Path::new(&folder)));
    }
    let folder = tempfile::tempdir().unwrap();
    let mut killed = child("a_killed_process_keeps_every_reading_that_it_acknowledged", folder.path()).spawn().unwrap();
    let lines = BufReader::new(killed.stdout.take().unwrap()).lines();
    let mut acknowledged = 0;
    for line in lines {
        if let Some(count) = line.unwrap().strip_prefix("acknowledged ") {
            acknowledged = count.parse().unwrap();
        }
        if acknowledged == 4_000 {
            killed.kill().unwrap();
        }
    }
    killed.wait().unwrap();
    assert!(acknowledged >= 4_000, "{acknowledged}");
    let store = open(folder.path());
    let kept = all(&store);
    assert!(kept.len() >= acknowledged, "{} of {acknowledged}", kept.len());
    assert!(kept.iter().enumerate().all(|(index, reading)| *reading == nth(index)));
    assert!(store.size().unwrap().segments > 0, "it sealed as well");
}

/// Fifty readings a transaction, each told of as soon as it is stored, until the process is killed.
fn store_for_ever(store: &Store) -> ! {
    let mut stdout = std::io::stdout();
    for start in (0..).step_by(50) {
        let readings: Vec<Reading> = (start..start + 50).map(nth).collect();
        store.commit(&readings, &[]).unwrap();
        writeln!(stdout, "\nacknowledged {}", start + 50).unwrap();
        stdout.flush().unwrap();
        if start % 500 == 0 {
            store.seal(readings[0].time).unwrap();
        }
    }
    unreachable!("there are always more");
}

fn nth(index: usize) -> Reading {
    number(SPEED, MONDAY + Span::minutes(index as i64), index as f64)
}

/// This test once more, in a process of its own, on this store.
fn child(test: &str, folder: &Path) -> Command {
    let mut command = Command::new(env::current_exe().unwrap());
    command.args(["--exact", "--nocapture", &format!("tests::crash::{test}")]);
    command.env(FOLDER, folder).stdout(Stdio::piped());
    command
}

#[test]
fn a_half_written_file_is_cleared_away() {
    let folder = tempfile::tempdir().unwrap();
    let readings = span(MONDAY, MONDAY + HOUR);
    open(folder.path()).commit(&readings, &[]).unwrap();
    let day = folder.path().join("readings/site=millbrook/line=tunnel-1/date=2026-11-02");
    fs::create_dir_all(&day).unwrap();
    fs::write(day.join(".00000001.parquet.unfinished"), "PAR1").unwrap();
    assert_eq!(all(&open(folder.path())), readings);
    assert!(files(folder.path()).is_empty());
}

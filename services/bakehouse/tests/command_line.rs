//! The program as people call it.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::process::{Command, Output};

fn bakehouse(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_bakehouse")).args(arguments).output().unwrap()
}

#[test]
fn csv_writes_readings_and_labels() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let (readings, labels) = (path("readings.csv"), path("labels.jsonl"));
    let from = "2026-11-02T06:00:00Z";
    let asked =
        ["csv", "--bakery", "tunnel-1", "--from", from, "--days", "0.25", "--interval", "60", "--out", &readings];
    let done = bakehouse(&[&asked[..], &["--labels", &labels]].concat());
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    assert!(done.stdout.is_empty(), "logs go to stderr");

    let written = fs::read_to_string(&readings).unwrap();
    let mut rows = written.lines();
    assert_eq!(rows.next(), Some("time,tag,value"));
    assert!(rows.next().unwrap().starts_with("2026-11-02T06:00:00.000Z,mill/tunnel-1/band,"));
    assert_eq!(written.lines().count(), 1 + 6 * 60 * 17);
    let labels = fs::read_to_string(&labels).unwrap();
    assert!(labels.lines().count() > 3 && labels.lines().all(|line| line.starts_with(r#"{"line":"tunnel-1""#)));
}

#[test]
fn what_cannot_be_done_is_said_in_one_line() {
    let wrong_url = bakehouse(&["publish", "--broker", "127.0.0.1"]);
    assert_eq!(wrong_url.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&wrong_url.stderr).contains("is not like mqtt://127.0.0.1:1883"));

    let from = "2026-11-02T06:00:00Z";
    let no_folder = bakehouse(&["csv", "--from", from, "--out", "no/such/folder/readings.csv"]);
    assert_eq!(no_folder.status.code(), Some(1));
    let said = String::from_utf8_lossy(&no_folder.stderr).to_string();
    assert!(said.contains("can't create no/such/folder/readings.csv") && said.lines().count() == 1, "{said}");
}

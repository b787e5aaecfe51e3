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

#[test]
fn transit_writes_a_run_through_the_oven_and_a_dead_injector_leaves_its_mark() {
    let folder = tempfile::tempdir().unwrap();
    let run = |dead: &[&str]| {
        let path = folder.path().join("run.csv").display().to_string();
        let plant = ["transit", "--bakery", "tunnel-1", "--from", "2026-06-02T06:00:00Z", "--days", "1"];
        let done = bakehouse(&[&plant[..], &["--enters", "2026-06-02T06:30:00Z", "--out", &path], dead].concat());
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        fs::read_to_string(&path).unwrap()
    };
    let (whole, dead) = (run(&[]), run(&["--dead-injector", "2"]));
    assert_eq!(whole, run(&[]), "the same arguments give the same run");
    let mut rows = whole.lines();
    assert_eq!(rows.next(), Some("time,air_temperature,dew_point"));
    assert!(rows.next().unwrap().starts_with("2026-06-02T06:29:00Z,25.0,"));
    // It waits 60 s, travels 16 to 26 min as the product asks, and cools 60 s, a sample every 2 s.
    assert!((540..900).contains(&whole.lines().count()), "{}", whole.lines().count());
    let wettest = |text: &str| {
        let dew_points = text.lines().skip(1).map(|row| row.rsplit(',').next().unwrap().parse::<f64>().unwrap());
        dew_points.fold(0.0, f64::max)
    };
    assert!(wettest(&whole) > wettest(&dead) + 0.2, "{} and {}", wettest(&whole), wettest(&dead));
    let no_line = bakehouse(&[
        "transit",
        "--from",
        "2026-06-02T06:00:00Z",
        "--enters",
        "2026-06-02T06:30:00Z",
        "--line",
        "x",
        "--out",
        "y",
    ]);
    assert_eq!(no_line.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&no_line.stderr).contains("the bakery has no line x"));
}

#[test]
fn steam_that_is_taken_away_shows_in_its_flow_and_in_zone_1() {
    let folder = tempfile::tempdir().unwrap();
    let mean = |by_pct: &str, tag: &str| {
        let path = folder.path().join("readings.csv").display().to_string();
        let plant =
            ["csv", "--bakery", "tunnel-1", "--from", "2026-11-02T06:00:00Z", "--days", "0.1", "--interval", "60"];
        let done = bakehouse(&[&plant[..], &["--steam-by-pct", by_pct, "--out", &path]].concat());
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        let written = fs::read_to_string(&path).unwrap();
        let of_tag = written.lines().filter_map(|row| row.split_once(tag)?.1.parse::<f64>().ok());
        let values: Vec<f64> = of_tag.collect();
        values.iter().sum::<f64>() / values.len() as f64
    };
    let steam = |by_pct: &str| mean(by_pct, ",mill/tunnel-1/steam,");
    let share = steam("-50") / steam("0");
    assert!((0.45..0.55).contains(&share), "{share}");
    let dew_point = |by_pct: &str| mean(by_pct, ",mill/tunnel-1/z1/dew,");
    assert!(dew_point("-50") < dew_point("0") - 1.0);

    let too_much = bakehouse(&["csv", "--from", "2026-11-02T06:00:00Z", "--steam-by-pct", "-101", "--out", "x"]);
    assert!(String::from_utf8_lossy(&too_much.stderr).contains("-100 to 300"));
}

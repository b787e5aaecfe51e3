//! The drill of the guide: a copy taken while readings flow, the data lost, the copy put in their place.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::process::Command;

use bakehouse::PlantReading;
use chrono::TimeDelta;
use serde_json::Value;

use crate::day::play;
use crate::history::{answered_and_then_faster, learn, load, rises, write};
use crate::plant::{Plant, wait_for};
use crate::visitor::{add_user, serve};

/// What people would miss of the time before the copy, as the program tells it from this data folder.
fn told(place: &Plant, data: &str) -> Vec<String> {
    let days = ["--from", "2026-06-02", "--to", "2026-06-03"];
    let asked = [
        [&["shifts", "--line", "tunnel-1", "--format", "json"][..], &days].concat(),
        [&["energy", "--format", "csv"][..], &days].concat(),
        vec!["normals"],
        vec!["user", "list"],
    ];
    asked.iter().map(|arguments| place.printed(&[&arguments[..], &["--data-dir", data]].concat())).collect()
}

fn readings_in(place: &Plant, data: &str) -> u64 {
    let described = place.printed(&["store", "--format", "json", "--data-dir", data]);
    serde_json::from_str::<Value>(&described).unwrap()["readings"].as_u64().unwrap()
}

fn names_of_alerts(place: &Plant) -> Vec<Value> {
    let alerts = String::from_utf8(place.run(&["alerts", "--format", "jsonl"]).stdout).unwrap();
    alerts.lines().map(|alert| serde_json::from_str::<Value>(alert).unwrap()["id"].clone()).collect()
}

#[test]
fn a_copy_taken_while_readings_flow_takes_the_place_of_lost_data() {
    let place = Plant::new();
    let mut readings = answered_and_then_faster();
    readings.retain(|reading| reading.time < rises() + TimeDelta::hours(3));
    let until = |time| readings.partition_point(|reading: &PlantReading| reading.time < time);
    let (history, raised) = (until(rises() - TimeDelta::minutes(90)), until(rises() + TimeDelta::hours(1)));
    let copied = until(rises() + TimeDelta::hours(2));
    load(&place, &readings[..history]);
    learn(&place);
    add_user(&place, "lead", "lead");
    let serving = serve(&place);
    play(&place, &readings[history..raised]);
    wait_for("the rise to be told", || names_of_alerts(&place).len() == 1);
    let alerts = names_of_alerts(&place);

    let (data, copy, lost) = (place.path("data"), place.path("copy"), place.path("lost"));
    let [data, copy, lost] = [&data, &copy, &lost].map(|path| path.to_str().unwrap());
    std::thread::scope(|scope| {
        scope.spawn(|| play(&place, &readings[raised..copied]));
        place.printed(&["store", "backup", copy]);
    });
    wait_for("every reading to be stored", || readings_in(&place, data) == copied as u64);
    let before = told(&place, data);
    drop(serving);

    fs::rename(data, lost).unwrap();
    assert!(Command::new("cp").args(["--archive", copy, data]).status().unwrap().success());
    assert!(place.printed(&["store", "verify"]).contains("the store is whole"));
    assert!(readings_in(&place, data) >= raised as u64, "what was stored before the copy");
    assert_eq!(told(&place, data), before, "the copy tells the same");
    assert_eq!(names_of_alerts(&place), alerts);
    let rights = |folder: &str| fs::metadata(format!("{folder}/users.json")).unwrap().permissions().mode();
    assert_eq!(rights(data), rights(lost));

    // What was acknowledged after the copy nobody sends again: the historian's file has it. What comes now is stored.
    let _serving = serve(&place);
    place.printed(&["backfill", &write(&place, "since.csv", &readings[raised..copied])]);
    play(&place, &readings[copied..]);
    wait_for("every reading to be stored again", || readings_in(&place, data) == readings.len() as u64);
    assert!(place.printed(&["store", "verify"]).contains("the store is whole"));
}

//! People answer alerts from the command line, beside the service: it is published, and outlives a restart.

use std::process::Command;

use bakehouse::PlantReading;
use chrono::{TimeDelta, Utc};
use serde_json::Value;

use crate::day::{play, written_day};
use crate::plant::{Plant, wait_for};

/// The readings until the alert stands, and those with which it ends.
fn parts(place: &Plant) -> (Vec<PlantReading>, Vec<PlantReading>) {
    let (readings, _) = written_day(place);
    let stands = readings[0].time + TimeDelta::minutes(130);
    readings.into_iter().partition(|reading| reading.time < stands)
}

/// What the broker keeps under a topic; null if there is nothing.
fn kept(place: &Plant, topic: &str) -> Value {
    let port = place.broker_port.to_string();
    let topic = format!("ovenward/millbrook/tunnel-1/{topic}");
    let heard = Command::new("mosquitto_sub").args(["-p", &port, "-t", &topic, "-C", "1", "-W", "1"]).output();
    let heard = heard.expect("mosquitto_sub is not installed; install mosquitto-clients");
    serde_json::from_slice(&heard.stdout).unwrap_or_default()
}

fn wait_for_state(place: &Plant, state: &str) -> Value {
    wait_for(state, || kept(place, "alert/+")["state"] == state);
    kept(place, "alert/+")
}

fn listed(place: &Plant) -> Value {
    serde_json::from_str(&place.printed(&["alerts", "--format", "json"])).unwrap()
}

fn page(place: &Plant) -> String {
    place.get("/plain").unwrap_or_default()
}

/// Calls, and high ones among them, of the early shift of the day.
fn calls(place: &Plant) -> (Value, Value) {
    let printed = place.printed(&["alerts", "rates", "--from", "2026-06-02", "--to", "2026-06-03", "--format", "json"]);
    let shifts: Vec<Value> = serde_json::from_str(&printed).unwrap();
    let early = shifts.into_iter().find(|row| row["shift"] == "early").unwrap();
    (early["calls"].clone(), early["high"].clone())
}

/// A command that must be refused as wrong usage; what it said.
fn refused(place: &Plant, arguments: &[&str]) -> String {
    let output = place.run(arguments);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
    said
}

#[test]
fn an_acknowledged_alert_stays_so_over_a_restart_and_its_end() {
    let place = Plant::new();
    let (first, rest) = parts(&place);
    let serving = place.serve();
    play(&place, &first);
    let raised = wait_for_state(&place, "unacknowledged");
    let id = raised["id"].as_str().unwrap();
    wait_for("the load", || kept(&place, "load")["alert"] == "unacknowledged");

    let comment = ["--by", "Ann", "--comment", "opening damper 2"];
    place.printed(&[&["alerts", "acknowledge", &id[20..]], comment.as_slice()].concat());
    let answered = wait_for_state(&place, "acknowledged");
    assert_eq!(answered["acknowledged_by"], "Ann");
    assert_eq!(answered["comments"][0]["text"], "opening damper 2");
    assert_eq!(answered["message"], raised["message"], "what detection found stays as it is");
    wait_for("the load", || kept(&place, "load")["alert"] == "acknowledged");
    assert_eq!(kept(&place, "load")["state"], "overloaded");
    wait_for("the page", || page(&place).contains("<strong>Acknowledged</strong> by Ann"));
    assert!(refused(&place, &["alerts", "acknowledge", id, "--by", "Ben"]).contains("is acknowledged already"));

    drop(serving);
    let serving = place.serve();
    assert_eq!(listed(&place), Value::Array(vec![answered]), "nothing twice, nothing forgotten");
    play(&place, &rest);
    wait_for("the end", || listed(&place)[0]["state"] == "returned-acknowledged");
    wait_for("the broker to forget it", || kept(&place, "alert/+").is_null());
    drop(serving);
    place.printed(&["alerts", "comment", id, "it was the fan", "--by", "Ben"]);
    assert_eq!(calls(&place), (1.into(), 1.into()));
    let shown: Value = serde_json::from_str(&place.printed(&["alerts", "show", id, "--format", "json"])).unwrap();
    let history = shown["history"].as_array().unwrap().iter();
    let told: Vec<_> =
        history.map(|change| (change["who"].as_str().unwrap(), change["what"].as_str().unwrap())).collect();
    let expected = [
        ("ovenward", "raised"),
        ("Ann", "acknowledged: opening damper 2"),
        ("ovenward", "ended"),
        ("Ben", "comment: it was the fan"),
    ];
    assert_eq!(told, expected);
}

/// Ann, about every unmatched rise of the line.
const ABOUT_RISES: [&str; 6] = ["--line", "tunnel-1", "--kind", "unmatched-speed-rise", "--by", "Ann"];

fn shelve<'a>(time: &[&'a str]) -> Vec<&'a str> {
    [&["alerts", "shelve", "--reason", "trial run"], ABOUT_RISES.as_slice(), time].concat()
}

#[test]
fn an_alert_that_begins_on_the_shelf_is_kept_and_calls_nobody() {
    let place = Plant::new();
    let (first, _) = parts(&place);
    let said = refused(&place, &shelve(&["--for", "61min"]));
    assert!(said.contains("unmatched-speed-rise can be shelved for at most 60 min"), "{said}");
    // No service runs yet: the command alone keeps it.
    place.printed(&shelve(&["--for", "45min"]));

    let serving = place.serve();
    play(&place, &first);
    let quiet = wait_for_state(&place, "shelved");
    assert_eq!((&quiet["suppression"]["reason"], &quiet["suppression"]["by"]), (&"trial run".into(), &"Ann".into()));
    wait_for("the load", || kept(&place, "load")["alert"] == "shelved");
    wait_for("the page", || {
        page(&place).contains("Shelved by Ann since") && page(&place).contains("It stands: Band up")
    });
    assert!(
        refused(&place, &["alerts", "acknowledge", quiet["id"].as_str().unwrap(), "--by", "Ann"]).contains("unshelve")
    );
    drop(serving);

    let _serving = place.serve();
    assert!(place.printed(&["alerts", "suppressed"]).contains("unmatched-speed-rise on tunnel-1 is shelved until"));
    assert_eq!(listed(&place), Value::Array(vec![quiet]));
    assert_eq!(calls(&place), (0.into(), 0.into()), "what begins on the shelf calls nobody");
    place.printed(&[["alerts", "unshelve"].as_slice(), &ABOUT_RISES].concat());
    let calls = wait_for_state(&place, "unacknowledged");
    assert!(calls["suppression"].is_null());
    wait_for("the load", || kept(&place, "load")["alert"] == "unacknowledged");

    // Nobody ends this one: its time is over by itself.
    let soon = (Utc::now() + TimeDelta::seconds(10)).to_rfc3339();
    place.printed(&shelve(&["--until", &soon]));
    wait_for_state(&place, "shelved");
    wait_for_state(&place, "unacknowledged");
    assert!(place.printed(&["alerts", "suppressed"]).contains("Every kind of alert calls"));
}

#[test]
fn what_cannot_be_answered_says_what_to_write_instead() {
    let place = Plant::new();
    let by = ["--by", "Ann"];
    for (arguments, words) in [
        (&["acknowledge", "01K"][..], "write 4 letters or more"),
        (
            &["shelve", "--line", "tunnel-9", "--kind", "zone3-limit", "--for", "5min", "--reason", "x"],
            "one of tunnel-1",
        ),
        (
            &["shelve", "--line", "tunnel-1", "--kind", "limit", "--for", "5min", "--reason", "x"],
            "one of unmatched-speed-rise",
        ),
        (&["shelve", "--line", "tunnel-1", "--kind", "zone3-limit", "--until", "soon", "--reason", "x"], "write 14:30"),
        (
            &["shelve", "--line", "tunnel-1", "--kind", "zone3-limit", "--until", "2026-01-01", "--reason", "x"],
            "is past",
        ),
        (&["shelve", "--line", "tunnel-1", "--kind", "zone3-limit", "--for", "5min", "--reason", ""], "say why"),
        (
            &["shelve", "--line", "tunnel-1", "--kind", "zone3-limit", "--reason", "x"],
            "--until <TIME>|--for <DURATION>",
        ),
        (&["unshelve", "--line", "tunnel-1", "--kind", "zone3-limit"], "calls already"),
        (&["in-service"], "write the id of an alert, or --line LINE --kind KIND"),
    ] {
        let said = refused(&place, &[&["alerts"], arguments, &by].concat());
        assert!(said.contains(words), "{arguments:?}: {said}");
    }
    assert!(refused(&place, &["alerts", "--state", "open"]).contains("write one of unacknowledged, acknowledged"));
    assert!(refused(&place, &["alerts", "acknowledge", "01KABC"]).contains("--by <NAME>"));
    assert!(refused(&place, &["alerts", "acknowledge", "01KABC", "--by", " "]).contains("say who does it"));
    let unknown = place.run(&["alerts", "show", "01KABC"]);
    assert_eq!(unknown.status.code(), Some(3));
    assert!(
        String::from_utf8(unknown.stderr).unwrap().contains("there is no alert 01KABC; `ovenward alerts` lists them")
    );
}

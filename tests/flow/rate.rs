//! A rate change from history to follow-up, by command.

use std::fs;
use std::process::Command;
use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};
use store::RateChangeRecord;

use crate::history::{RISE_PCT, answered, answered_and_then_faster, begins, learn, load, rises};
use crate::plant::{Plant, wait_for};

/// A place that has learned from history.
pub(crate) fn learned() -> Plant {
    let place = Plant::new();
    load(&place, &answered());
    learn(&place);
    place
}

const ASKED: [&str; 5] = ["rate", "--line", "tunnel-1", "--product", "T800"];

fn with<'a>(further: &[&'a str]) -> Vec<&'a str> {
    ASKED.iter().chain(further).copied().collect()
}

fn refused(place: &Plant, arguments: &[&str], status: i32) -> String {
    let output = place.run(arguments);
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(status), "{arguments:?}: {told}");
    told
}

#[test]
fn a_rate_change_is_reviewed_agreed_and_made() {
    let place = learned();
    let text = place.printed(&with(&["--speed", "1.4"]));
    for told in ["EXTRAPOLATED", "learned normal tunnel-1/T800/1", "Highest speed", "open the exhaust", "net gain"] {
        assert!(text.contains(told), "{told:?} is missing in\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 110), "{text}");
    assert_eq!(
        text,
        place.printed(&with(&["--bake-time", "20"])),
        "28 m in 20 min are 1.4 m/min, and the bytes are the same"
    );

    let json: Value = serde_json::from_str(&place.printed(&with(&["--speed", "1.4", "--format", "json"]))).unwrap();
    assert_eq!(json["remedies"].as_array().unwrap().len(), 5);
    assert!(json["untouched"]["carryover_chance_pct"].as_f64() > json["usual"]["carryover_chance_pct"].as_f64());
    let html = place.printed(&with(&["--speed", "1.4", "--format", "html"]));
    assert!(html.contains("<svg") && !html.contains("http"), "one sheet that needs nothing else");

    let propose =
        ["rate", "propose", "--line", "tunnel-1", "--product", "T800", "--speed", "1.4", "--remedy", "open-exhaust"];
    let proposed = place.printed(&[&propose[..], &["--reason", "order of June", "--by", "Ann"]].concat());
    assert!(proposed.starts_with("tunnel-1/rate/1  T800") && proposed.contains("maintenance not agreed"), "{proposed}");
    let made = ["rate", "made", "tunnel-1/rate/1", "--by", "Ann"];
    assert!(refused(&place, &made, 2).contains("not been agreed by production, process, maintenance"));
    for role in ["production", "process", "maintenance"] {
        place.printed(&["rate", "agree", "tunnel-1/rate/1", "--as", role, "--by", "Bo"]);
    }
    assert!(place.printed(&made).contains(": made"));
    let follow = ["rate", "follow-up", "tunnel-1/rate/1", "--by", "Ann"];
    assert!(refused(&place, &follow, 2).contains("has not stood for 24 h"));
    let listed: Value = serde_json::from_str(&place.printed(&["rate", "list", "--format", "json"])).unwrap();
    assert_eq!((&listed[0]["id"], &listed[0]["remedy"]), (&"tunnel-1/rate/1".into(), &"open-exhaust".into()));
    assert_eq!(listed[0]["agreed"].as_array().unwrap().len(), 3);
    assert!(place.printed(&["rate", "show", "tunnel-1/rate/1"]).contains("order of June"));

    look_at_a_day_of_history(&place, listed[0].clone());

    // Without the balance it is said what is missing, and what can still be said.
    fs::remove_dir_all(place.path("data/balances")).unwrap();
    let config = fs::read_to_string(place.path("plant.toml")).unwrap();
    fs::write(place.path("plant.toml"), config.replace("dough_kg_per_m = 13.0\n", "")).unwrap();
    let told = refused(&place, &with(&["--speed", "1.4"]), 3);
    assert!(
        told.contains("[[product]] T800 has no dough_kg_per_m") && told.contains("What can still be said"),
        "{told}"
    );
}

/// The same record as if it had been made in the days of the history, to their usual speed.
fn look_at_a_day_of_history(place: &Plant, mut change: Value) {
    change["to_m_min"] = change["from_m_min"].clone();
    keep_as_made_at(place, change, begins() + TimeDelta::hours(5));
    let looked = place.printed(&["rate", "follow-up", "tunnel-1/rate/1", "--by", "Di"]);
    assert!(looked.contains(": looked at") && looked.contains("zone 4") && looked.contains("as foretold"), "{looked}");
    assert!(place.printed(&["rate", "list"]).contains("looked at"));
}

/// Puts a record back in time: nobody waits a day for a test.
fn keep_as_made_at(place: &Plant, mut change: Value, made: DateTime<Utc>) {
    let before = |hours| (made - TimeDelta::hours(hours)).to_rfc3339();
    change["proposed"]["at"] = before(2).into();
    for agreement in change["agreed"].as_array_mut().unwrap() {
        agreement["signed"]["at"] = before(1).into();
    }
    change["made"] = json!({ "by": "Ann", "at": made.to_rfc3339() });
    let settings = ovenward::config::load(&place.path("plant.toml")).unwrap();
    let store = store::Store::open(&settings.data_dir, &Arc::new(settings.plant.clone())).unwrap();
    store
        .change_rate(|known| {
            Ok::<_, store::StoreError>((RateChangeRecord { json: change.to_string(), ..known[0].clone() }, ()))
        })
        .unwrap();
}

/// The band of this plant really became faster, and nobody touched the oven: what its sensors showed in the day after is
/// what the balance, learned before, had foretold.
#[test]
fn the_service_looks_at_what_came_of_a_rate_change_a_day_later_and_tells() {
    let place = learned();
    let speed = format!("{:.4}", 28.0 / 24.0 * (1.0 + RISE_PCT / 100.0));
    let propose = ["rate", "propose", "--line", "tunnel-1", "--product", "T800", "--speed", &speed];
    place.printed(&[&propose[..], &["--reason", "order of June", "--by", "Ann"]].concat());
    for role in ["production", "process", "maintenance"] {
        place.printed(&["rate", "agree", "tunnel-1/rate/1", "--as", role, "--by", "Bo"]);
    }
    let record = || -> Value {
        serde_json::from_str(&place.printed(&["rate", "show", "tunnel-1/rate/1", "--format", "json"])).unwrap()
    };
    keep_as_made_at(&place, record(), rises());
    assert!(place.printed(&["rate", "list"]).contains("looked at from 2026-06-04"), "a day after it was made");
    load(&place, &answered_and_then_faster());

    let _serving = place.serve();
    wait_for("the service to look", || !record()["outcome"].is_null());
    let looked = record();
    let outcome = &looked["outcome"];
    assert_eq!(outcome["looked"]["by"], "ovenward");
    assert!(outcome["hours"].as_f64().unwrap() > 10.0, "{outcome}");
    let zones = outcome["zones"].as_array().unwrap();
    assert_eq!(zones.len(), 4);
    for zone in zones {
        let (came, told) = (zone["came_pct"].as_f64().unwrap(), &zone["foretold"]);
        assert!((came / told["moisture_pct"].as_f64().unwrap() - 1.0).abs() < 0.08, "{zone}");
        // Zone 1 is as wet as the crew of the hour steams it, which the band of a usual oven need not hold.
        assert!(zone["inside"] == true || told["zone"] == 1, "{zone}");
    }
    let inside = zones.iter().filter(|zone| zone["inside"] == true).count();
    assert!(place.printed(&["rate", "list"]).contains(&format!("{inside} of 4 zones as foretold")));
    let topic = "ovenward/millbrook/tunnel-1/rate-change";
    let port = place.broker_port.to_string();
    let heard = Command::new("mosquitto_sub").args(["-p", &port, "-t", topic, "-C", "1", "-W", "60"]).output().unwrap();
    let told: Value = serde_json::from_slice(&heard.stdout).unwrap();
    assert_eq!(told, looked, "the record on MQTT is the record");
}

#[test]
fn what_cannot_be_reviewed_is_refused_with_what_to_write_or_to_do() {
    let place = Plant::new();
    assert!(refused(&place, &with(&["--speed", "1.4"]), 3).contains("ovenward learn --line tunnel-1 --product T800"));
    assert!(refused(&place, &with(&["--speed", "0"]), 2).contains("write a number above 0"));
    let other = ["rate", "--line", "tunnel-1", "--product", "X99", "--speed", "1.4"];
    assert!(refused(&place, &other, 2).contains("write one of T800"));
    refused(&place, &ASKED, 2);
    assert!(refused(&place, &["rate", "list"], 3).contains("no rate change has been proposed"));
    assert!(refused(&place, &["rate", "show", "tunnel-1/rate/9"], 3).contains("there is no rate change"));
}

//! Payloads that are no readings: counted by reason, kept, and no hindrance to the others.

use std::process::Command;

use chrono::{TimeDelta, Utc};

use crate::plant::{Plant, wait_for};

fn say(place: &Plant, topic: &str, payload: &str) {
    let port = place.broker_port.to_string();
    let said = Command::new("mosquitto_pub").args(["-p", &port, "-q", "1", "-t", topic, "-m", payload]).status();
    assert!(said.expect("mosquitto_pub is not installed; install mosquitto-clients").success());
}

#[test]
fn what_cannot_be_read_is_counted_and_stops_nothing() {
    let place = Plant::new();
    let serving = place.serve();
    let ahead = (Utc::now() + TimeDelta::minutes(20)).to_rfc3339();
    say(&place, "mill/tunnel-1/band", "fast");
    say(&place, "mill/tunnel-1/band", &format!("{{\"value\":1.2,\"time\":\"{ahead}\"}}"));
    say(&place, "mill/tunnel-1/band", "{\"value\":1.2,\"time\":\"yesterday\"}");
    say(&place, "mill/tunnel-1/band", "{\"value\":9000}");
    say(&place, "mill/tunnel-1/band", "{\"value\":1.21}");
    wait_for("the good reading to be stored", || place.metric("ovenward_readings_stored_total") == Some(1.0));
    for reason in ["unreadable", "future-time", "unreadable-time", "outside-limits"] {
        let count = place.metric(&format!("ovenward_rejected_total{{reason=\"{reason}\"}}"));
        assert_eq!(count, Some(1.0), "{reason}");
    }
    wait_for("the service to say that it is ready", || place.get("/readyz").is_some_and(|said| !said.contains("503")));
    drop(serving);
}

#[test]
fn a_payload_is_read_again_once_the_config_has_been_put_right() {
    let place = Plant::new();
    assert_eq!(place.run(&["quarantine", "list"]).status.code(), Some(3), "nothing was ever quarantined");
    let serving = place.serve();
    say(&place, "mill/tunnel-1/band", "{\"value\":9000,\"time\":\"2026-06-02T06:00:00Z\"}");
    say(&place, "mill/tunnel-1/band", "fast");
    wait_for("both to be rejected", || {
        place.printed(&["quarantine", "list"]).matches("mill/tunnel-1/band").count() == 2
    });
    drop(serving);
    assert!(place.printed(&["quarantine", "replay"]).contains("0 payloads could be read"));

    // The gateway counts tenths of a millimetre a minute: a scale was missing.
    let config = std::fs::read_to_string(place.path("plant.toml")).unwrap();
    let put_right = config.replace("unit = \"m/min\" }", "unit = \"m/min\", scale = 0.0001 }");
    assert_ne!(put_right, config, "the test's config names the band otherwise");
    std::fs::write(place.path("plant.toml"), put_right).unwrap();
    let replayed = place.printed(&["quarantine", "replay"]);
    assert!(replayed.contains("1 payloads could be read: 1 readings stored"), "{replayed}");
    assert!(replayed.contains("1 payloads stay in quarantine"), "{replayed}");
    assert!(place.printed(&["store"]).contains("1 readings in "));
    assert!(place.printed(&["quarantine", "list"]).contains("\"fast\""));
}

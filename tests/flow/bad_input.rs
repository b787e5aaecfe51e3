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

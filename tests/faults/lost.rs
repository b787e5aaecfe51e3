//! What the broker loses, nobody can bring back: it is kept as a gap, and shown.

use std::fs;
use std::process::Command;
use std::time::Duration;

use serde_json::Value;

use crate::plant::{Plant, wait_for};
use crate::traffic::{Flooding, wait_until_stored};

/// The gaps that `ovenward store` shows.
fn gaps(place: &Plant) -> Vec<Value> {
    let store: Value = serde_json::from_str(&place.printed(&["store", "--format", "json"])).unwrap();
    store["gaps"].as_array().unwrap().clone()
}

fn some_readings(place: &Plant) {
    let sent = Flooding::of(place, 500.0, Duration::from_secs(1)).acknowledged();
    wait_until_stored(place, sent.len());
}

#[test]
fn a_session_that_the_broker_has_forgotten_is_a_gap() {
    let place = Plant::new();
    let serving = place.serve();
    some_readings(&place);
    drop(serving);
    drop(place.serve());
    assert!(gaps(&place).is_empty(), "{:?}", gaps(&place));

    // Somebody with our name asks for a clean start: the broker throws our session away.
    let port = place.broker_port.to_string();
    let thief = ["-p", &port, "-i", "ovenward-test-day", "-t", "nothing", "-W", "1"];
    Command::new("mosquitto_sub").args(thief).status().expect("mosquitto_sub is not installed");
    Flooding::of(&place, 500.0, Duration::from_secs(1)).acknowledged();
    let _serving = place.serve();
    wait_for("the gap to be shown", || gaps(&place).len() == 1);
    let gap = &gaps(&place)[0];
    assert_eq!(gap["cause"], "session-lost");
    assert!(gap["began"].as_str() < gap["ended"].as_str(), "{gap}");
    assert!(place.printed(&["store"]).contains("session-lost"));
}

#[test]
fn messages_that_the_broker_drops_are_a_gap_with_their_number() {
    let place = Plant::with_broker_settings("max_queued_messages 100\nsys_interval 1");
    let serving = place.serve();
    some_readings(&place);
    // Time for the broker to tell how many it has dropped so far, which is none.
    std::thread::sleep(Duration::from_secs(3));
    assert!(gaps(&place).is_empty());
    drop(serving);
    let sent = Flooding::of(&place, 1000.0, Duration::from_secs(2)).acknowledged();
    let _serving = place.serve();
    wait_for("the gap to be shown", || !gaps(&place).is_empty());
    let gap = &gaps(&place)[0];
    assert_eq!(gap["cause"], "broker-dropped");
    // A count that it meant to tell us meanwhile may be among them.
    let (lost, expected) = (gap["lost"].as_u64().unwrap(), sent.len() as u64 - 100);
    assert!((expected..expected + 10).contains(&lost), "{gap}");
}

#[test]
fn a_broker_that_cannot_hold_what_waits_is_warned_of_before_it_matters() {
    let checked = |place: &Plant| {
        let flooding = Flooding::of(place, 2000.0, Duration::from_secs(14));
        let said = place.printed(&["check", "--connect"]);
        drop(flooding.acknowledged());
        said
    };
    let narrow = Plant::with_broker_settings("max_queued_messages 100");
    // With the usual receive maximum so much is under way that nothing has to wait.
    let config = fs::read_to_string(narrow.path("plant.toml")).unwrap();
    let config = config.replace("[broker]\n", "[broker]\nreceive_maximum = 20\n");
    fs::write(narrow.path("plant.toml"), config).unwrap();
    let said = checked(&narrow);
    assert!(said.contains("WARNING") && said.contains("max_queued_messages 0"), "{said}");
    let said = checked(&Plant::new());
    assert!(said.contains("it kept everything"), "{said}");
}

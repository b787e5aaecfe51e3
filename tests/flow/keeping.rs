//! What is kept, looked at and copied while the service runs.

use serde_json::Value;

use crate::day::{play, written_day};
use crate::plant::{Plant, wait_for};

#[test]
fn the_store_is_described_verified_and_copied_beside_the_service() {
    let place = Plant::new();
    let (readings, day) = written_day(&place);
    assert_eq!(place.run(&["store"]).status.code(), Some(3), "an empty store has no data");
    place.printed(&["backfill", &day]);
    let serving = place.serve();

    let described: Value = serde_json::from_str(&place.printed(&["store", "--format", "json"])).unwrap();
    assert_eq!(described["readings"], readings.len());
    assert_eq!(described["oldest"].as_str().unwrap(), "2026-06-02T06:00:00.000Z");
    let text = place.printed(&["store"]);
    assert!(text.contains(&format!("{} readings in ", readings.len())) && text.contains("none known"), "{text}");
    assert!(place.printed(&["store", "verify"]).contains("the store is whole"));

    let copy = place.path("copy");
    let copy = copy.to_str().unwrap();
    assert!(place.printed(&["store", "backup", copy]).contains(": the database, "));
    let copied: Value =
        serde_json::from_str(&place.printed(&["store", "--data-dir", copy, "--format", "json"])).unwrap();
    assert_eq!(copied["readings"], described["readings"]);
    drop(serving);

    let file = place.path("data/readings/site=millbrook/line=tunnel-1/date=2026-06-02");
    let file = std::fs::read_dir(file).unwrap().next().unwrap().unwrap().path();
    let mut bytes = std::fs::read(&file).unwrap();
    bytes[10] ^= 1;
    std::fs::write(&file, bytes).unwrap();
    let verified = place.run(&["store", "verify", "--format", "json"]);
    assert_eq!(verified.status.code(), Some(1));
    let found: Value = serde_json::from_slice(&verified.stdout).unwrap();
    assert_eq!((&found["whole"], &found["findings"][0]["repaired"]), (&false.into(), &false.into()), "{found}");
    assert!(place.run(&["store", "--data-dir", copy, "verify"]).status.success(), "the copy is a file of its own");
}

#[test]
fn the_status_tells_what_comes_in_and_what_is_kept() {
    let place = Plant::new();
    let (readings, _) = written_day(&place);
    let _serving = place.serve();
    let status = || -> Value { serde_json::from_str(&place.get("/api/v1/status").unwrap()).unwrap() };
    let before = status();
    assert_eq!((&before["broker"]["readings_total"], &before["store"]["readings"]), (&0.into(), &0.into()), "{before}");
    assert!(before["broker"]["since"].is_string(), "{before}");

    play(&place, &readings);
    wait_for("the status to tell of every reading", || {
        let status = status();
        let all = Value::from(readings.len());
        status["broker"]["readings_total"] == all && status["store"]["readings"] == all
    });
    let after = status();
    assert!(after["broker"]["readings_per_s"].as_f64().unwrap() > 0.0, "{after}");
    assert_eq!(after["store"]["oldest"], "2026-06-02T06:00:00.000Z");
    assert!(after["store"]["free_bytes"].as_u64().unwrap() > 0, "{after}");
}

//! A day lived over MQTT against the same day replayed from a file.

use std::fs;
use std::time::Duration;

use bakehouse::{
    Bakery, BrokerAddress, Clock, PayloadStyle, PlantReading, PublishOptions, RateChange, Response, Schedule,
    Simulation, What,
};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;
use tokio::sync::watch;

use crate::history::write;
use crate::plant::{Plant, wait_for};

const HOURS: i64 = 4;

/// Four hours of baking with a rise that nobody met.
fn plant() -> (Simulation, DateTime<Utc>) {
    let start: DateTime<Utc> = "2026-06-02T06:00:00Z".parse().unwrap();
    let rise = RateChange::sudden(14.0, TimeDelta::minutes(60), Response::NoVenting);
    let schedule = Schedule::quiet().with("tunnel-1", start + TimeDelta::minutes(90), What::RateChange(rise));
    let interval = Duration::from_secs(10);
    (Simulation::new(Bakery::millbrook_single(), &schedule, 3, start, interval).unwrap(), start)
}

/// The readings of that day, and the file they were written to.
pub(crate) fn written_day(place: &Plant) -> (Vec<PlantReading>, String) {
    let (mut simulation, start) = plant();
    let readings: Vec<_> = simulation.until(start + TimeDelta::hours(HOURS)).collect();
    let path = write(place, "day.csv", &readings);
    (readings, path)
}

/// The plant publishes these readings, a thousand times as fast as it took them, until the broker has them all.
pub(crate) fn play(place: &Plant, readings: &[PlantReading]) {
    let broker = BrokerAddress { host: "127.0.0.1".into(), port: place.broker_port };
    let options = PublishOptions { broker, client_id: "bakehouse".into(), style: PayloadStyle::Json };
    let (_stop, stopped) = watch::channel(false);
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let pace = runtime.block_on(async { Clock::starting_now(readings[0].time, 1000.0) });
    let sent = runtime.block_on(bakehouse::publish(readings.iter().cloned(), &options, pace, stopped));
    assert_eq!(sent.acknowledged, readings.len() as u64);
}

#[test]
fn a_day_replayed_raises_the_alerts_of_the_day_as_it_was_lived() {
    let place = Plant::new();
    let (readings, day) = written_day(&place);
    let replayed = place.printed(&["replay", &day, "--format", "jsonl"]);
    assert_eq!(replayed.lines().count(), 1, "one rise, one alert: {replayed}");
    assert!(replayed.contains("\"finding\":\"carryover\""), "{replayed}");

    let serving = place.serve();
    play(&place, &readings);
    let count = readings.len();
    wait_for("every reading to be stored", || place.metric("ovenward_readings_stored_total") == Some(count as f64));
    wait_for("the alert to leave", || {
        place.metric("ovenward_alerts_raised_total") == Some(1.0)
            && place.metric("ovenward_outbox_messages") == Some(0.0)
    });
    drop(serving);
    let lived = place.printed(&["alerts", "--format", "jsonl"]);
    assert_eq!(lived, replayed, "to the last figure");
    // Restarted, the service reads its last hours again: it must raise nothing twice.
    drop(place.serve());
    assert_eq!(place.printed(&["alerts", "--format", "jsonl"]), lived);
    exported(&place, &serde_json::from_str(&lived).unwrap());
}

/// The alert as an open file.
fn exported(place: &Plant, lived: &Value) {
    let folder = place.path("alerts");
    place.printed(&["export", "--what", "alerts", "--format", "csv", "--out", folder.to_str().unwrap()]);
    let written = fs::read_to_string(folder.join("alerts.csv")).unwrap();
    let lines: Vec<&str> = written.lines().collect();
    assert_eq!(lines.len(), 2, "{written}");
    let of = |name: &str| {
        let place = lines[0].split(',').position(|column| column == name).unwrap();
        lines[1].split(',').nth(place).unwrap()
    };
    for column in ["id", "line", "kind", "finding", "priority", "state", "product"] {
        assert_eq!(of(column), lived[column].as_str().unwrap(), "{column}");
    }
    let moment = |text: &str| text.parse::<DateTime<Utc>>().unwrap();
    for column in ["began", "raised", "ended"] {
        assert_eq!(moment(of(column)), moment(lived[column].as_str().unwrap()), "{column}");
    }
    assert_eq!(of("confidence").parse::<f64>().unwrap(), lived["confidence"].as_f64().unwrap());
}

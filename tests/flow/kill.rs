//! kill -9 while readings flow: each that the broker took from the plant is stored, once.

use std::collections::BTreeMap;
use std::path::Path;
use std::time::Duration;

use bakehouse::{BrokerAddress, Flood};
use chrono::Utc;
use reading::{Span, Timestamp, Value};
use store::Store;
use tokio::sync::watch;

use crate::plant::{Plant, wait_for};

#[test]
fn a_killed_service_loses_nothing_and_stores_nothing_twice() {
    let place = Plant::new();
    let mut serving = place.serve();
    let broker = BrokerAddress { host: "127.0.0.1".into(), port: place.broker_port };
    let flood = Flood::of_tunnel_1(broker, 2000.0, Duration::from_secs(9));
    let flooding = std::thread::spawn(move || {
        let (_stop, stopped) = watch::channel(false);
        let mut acknowledged = Vec::new();
        let runtime = tokio::runtime::Runtime::new().unwrap();
        runtime.block_on(flood.run(Utc::now(), &mut acknowledged, stopped)).unwrap();
        String::from_utf8(acknowledged).unwrap()
    });
    for _ in 0..3 {
        std::thread::sleep(Duration::from_millis(1700));
        serving.0.kill().unwrap();
        serving.0.wait().unwrap();
        serving = place.serve();
    }
    let acknowledged = flooding.join().unwrap();
    let mut counts = (0, 0);
    wait_for("the broker's queue to be taken in", || {
        let before = counts;
        std::thread::sleep(Duration::from_millis(500));
        counts = (place.metric("ovenward_messages_total").unwrap_or(0.0) as u64, counts.0);
        counts.0 == before.0 && counts.0 > 0
    });
    drop(serving);

    let sent: BTreeMap<(String, i64), f64> = acknowledged
        .lines()
        .skip(1)
        .map(|row| {
            let fields: Vec<&str> = row.split(',').collect();
            ((fields[1].to_owned(), Timestamp::parse(fields[0]).unwrap().0), fields[2].parse().unwrap())
        })
        .collect();
    assert!(sent.len() > 10_000, "only {} readings were acknowledged", sent.len());
    let stored = stored(&place.path("plant.toml"));
    let lost = sent.iter().filter(|(key, value)| stored.get(*key) != Some(*value)).count();
    assert_eq!(lost, 0, "{lost} of {} readings were lost", sent.len());
}

/// Every reading of the store by tag and time; one that is there twice fails the test.
fn stored(config: &Path) -> BTreeMap<(String, i64), f64> {
    let settings = ovenward::config::load(config).unwrap();
    let store = Store::open(&settings.data_dir, &settings.plant).unwrap();
    let (first, last) = store.span().unwrap().unwrap();
    let mut found = BTreeMap::new();
    for stretch in store.readings(None, first, last + Span(1)) {
        for reading in stretch.unwrap() {
            let tag = settings.plant.signals.get(reading.signal).tag.to_string();
            let Value::Number(number) = reading.value else { continue };
            assert_eq!(found.insert((tag, reading.time.0), number), None, "stored twice");
        }
    }
    found
}

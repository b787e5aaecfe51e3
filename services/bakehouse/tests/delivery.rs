//! Readings over MQTT: in order, at least once, on time, and ended promptly.
#![allow(clippy::unwrap_used)]

mod broker;
mod recording;

use std::collections::BTreeSet;
use std::time::{Duration, Instant};

use bakehouse::{Bakery, Clock, Flood, PayloadStyle, PlantReading, PublishOptions, Schedule, payload, publish};
use broker::{Broker, Manners};
use chrono::TimeDelta;
use recording::{minutes, simulation, start};
use tokio::sync::watch;

fn readings(lasts: TimeDelta) -> Vec<PlantReading> {
    simulation(&Bakery::millbrook_single(), &Schedule::quiet(), 1).until(start() + lasts).collect()
}

fn options(broker: &Broker) -> PublishOptions {
    PublishOptions { broker: broker.address(), client_id: "mill".into(), style: PayloadStyle::Json }
}

fn expected(readings: &[PlantReading]) -> Vec<(String, String)> {
    let text = |reading| String::from_utf8(payload(reading, PayloadStyle::Json)).unwrap();
    readings.iter().map(|reading| (reading.topic.to_string(), text(reading))).collect()
}

#[tokio::test]
async fn readings_arrive_in_order_and_at_the_wanted_pace() {
    let broker = Broker::start(Manners::Steady).await;
    let readings = readings(minutes(10.0));
    let (_stop, stopped) = watch::channel(false);
    let began = Instant::now();
    let clock = Clock::starting_now(start(), 1000.0);
    let delivered = publish(readings.clone().into_iter(), &options(&broker), clock, stopped).await;
    let took = began.elapsed();
    assert!((Duration::from_millis(590)..Duration::from_secs(3)).contains(&took), "10 min took {took:?}");
    assert_eq!(delivered.acknowledged, readings.len() as u64);
    let arrived: Vec<_> = broker.taken().into_iter().map(|(topic, payload, _)| (topic, payload)).collect();
    assert!(arrived == expected(&readings), "the same, in order");
}

#[tokio::test]
async fn a_broker_that_cuts_connections_and_forgets_loses_nothing() {
    let broker = Broker::start(Manners::CutsAfter(150)).await;
    let readings = readings(minutes(4.0));
    let (_stop, stopped) = watch::channel(false);
    let clock = Clock::starting_now(start(), 1e9);
    let delivered = publish(readings.clone().into_iter(), &options(&broker), clock, stopped).await;
    assert_eq!((delivered.sent, delivered.acknowledged), (readings.len() as u64, readings.len() as u64));

    let taken = broker.taken();
    assert!(taken.len() > readings.len(), "some had to be sent again");
    let acknowledged: Vec<_> = taken
        .into_iter()
        .filter(|(.., acknowledged)| *acknowledged)
        .map(|(topic, payload, _)| (topic, payload))
        .collect();
    // An acknowledgement can be lost with its connection; then the reading is acknowledged twice.
    let mut in_order = acknowledged.clone();
    in_order.dedup();
    let mut seen = BTreeSet::new();
    let first_times: Vec<_> = in_order.into_iter().filter(|message| seen.insert(message.clone())).collect();
    assert!(first_times == expected(&readings), "all of them, and first times in order");
}

#[tokio::test]
async fn it_waits_for_a_broker_that_comes_late() {
    let broker = Broker::start(Manners::Steady).await;
    let address = broker.address();
    let readings = readings(minutes(1.0));
    drop(broker);
    tokio::time::sleep(Duration::from_millis(50)).await;
    let (_stop, stopped) = watch::channel(false);
    let options = PublishOptions { broker: address.clone(), client_id: "mill".into(), style: PayloadStyle::Number };
    let clock = Clock::starting_now(start(), 1e9);
    let publishing = publish(readings.clone().into_iter(), &options, clock, stopped);
    let coming = async {
        tokio::time::sleep(Duration::from_millis(250)).await;
        Broker::start_on(address.port, Manners::Steady).await
    };
    let (delivered, broker) = tokio::join!(publishing, coming);
    assert_eq!(delivered.acknowledged, readings.len() as u64);
    assert_eq!(broker.taken().len(), readings.len());
}

#[tokio::test]
async fn it_stops_within_a_second() {
    let broker = Broker::start(Manners::Mute).await;
    let (stop, stopped) = watch::channel(false);
    let clock = Clock::starting_now(start(), 1.0);
    let endless = simulation(&Bakery::millbrook_single(), &Schedule::quiet(), 1);
    let options = options(&broker);
    let publishing = publish(endless, &options, clock, stopped);
    let stopping = async {
        tokio::time::sleep(Duration::from_millis(1300)).await;
        stop.send(true).unwrap();
        Instant::now()
    };
    let (delivered, told) = tokio::join!(publishing, stopping);
    assert!(told.elapsed() < Duration::from_secs(1));
    assert!((1..=4).contains(&delivered.sent), "at the plant's own pace: {delivered:?}");
    assert_eq!(delivered.acknowledged, 0);
}

#[tokio::test]
async fn a_flood_records_exactly_what_was_acknowledged() {
    let broker = Broker::start(Manners::CutsAfter(400)).await;
    let flood = Flood { topics: Some(5), ..Flood::of_tunnel_1(broker.address(), 2000.0, Duration::from_millis(600)) };
    let mut record = vec![];
    let (_stop, stopped) = watch::channel(false);
    let delivered = flood.run(start(), &mut record, stopped).await.unwrap();
    assert_eq!((delivered.sent, delivered.acknowledged), (1200, 1200));

    let record = String::from_utf8(record).unwrap();
    let rows: Vec<&str> = record.lines().skip(1).collect();
    assert_eq!(record.lines().next(), Some("time,tag,value"));
    assert_eq!(rows.len(), 1200);
    let keys: BTreeSet<_> = rows.iter().map(|row| row.rsplit_once(',').unwrap().0).collect();
    assert_eq!(keys.len(), 1200, "no two readings of a topic share a time");
    let topics: BTreeSet<_> = rows.iter().map(|row| row.split(',').nth(1).unwrap()).collect();
    assert_eq!(topics.len(), 5);
    let taken: BTreeSet<_> = broker
        .taken()
        .into_iter()
        .filter(|(.., acknowledged)| *acknowledged)
        .map(|(topic, payload, _)| {
            let reading: serde_json::Value = serde_json::from_str(&payload).unwrap();
            format!("{},{topic},{}", reading["time"].as_str().unwrap(), reading["value"])
        })
        .collect();
    assert!(rows.iter().all(|row| taken.contains(*row)), "only what the broker acknowledged");
}

#[tokio::test]
async fn a_flood_over_more_topics_than_there_are_is_refused() {
    let broker = "mqtt://127.0.0.1:1".parse().unwrap();
    let flood = Flood { topics: Some(99), ..Flood::of_tunnel_1(broker, 10.0, Duration::from_secs(1)) };
    let (_stop, stopped) = watch::channel(false);
    let error = flood.run(start(), vec![], stopped).await.unwrap_err();
    assert!(error.to_string().contains("1 to 15"), "{error}");
}

#[tokio::test]
async fn a_flood_of_bare_numbers_comes_from_every_oven_asked_for() {
    let broker = Broker::start(Manners::Steady).await;
    let tunnel_1 = Flood::of_tunnel_1(broker.address(), 1000.0, Duration::from_millis(90));
    let flood = Flood { lines: 2, zones: 14, style: PayloadStyle::Number, ..tunnel_1 };
    let (_stop, stopped) = watch::channel(false);
    let delivered = flood.run_unrecorded(start(), stopped).await.unwrap();
    assert_eq!((delivered.sent, delivered.acknowledged), (90, 90));

    let taken = broker.taken();
    let topics: BTreeSet<_> = taken.iter().map(|(topic, ..)| topic.as_str()).collect();
    assert_eq!(topics.len(), 90, "45 of each");
    assert!(topics.contains("mill/tunnel-1/z1/dew") && topics.contains("mill/tunnel-2/z14/damper"));
    assert!(taken.iter().all(|(_, payload, _)| payload.parse::<f64>().is_ok()));

    let (_stop, stopped) = watch::channel(false);
    let error = flood.run(start(), vec![], stopped).await.unwrap_err();
    assert!(error.to_string().contains("send JSON"), "{error}");
}

//! An intake ends promptly, in order, and leaves with the broker what is not safe.

use std::time::{Duration, Instant};

use broker::IntakeEvent;
use tokio::time::timeout;

use crate::support::*;

#[tokio::test]
async fn stopping_hands_out_what_came_in_then_acknowledges_then_leaves() {
    let broker = Mosquitto::start();
    let gate = Gate::before(broker.port, Policy::Pass).await;
    let mut first = intake(gate.port, "stop").await;
    plant_sends(broker.port, "mill/a", 1, numbers(0..10)).await;
    let delivered = deliveries(&mut first, 10).await;
    first.stop.stop_deliveries();
    assert_eq!(timeout(AT_ONCE, first.events.recv()).await.unwrap(), None, "the events end");
    plant_sends(broker.port, "mill/a", 1, numbers(10..12)).await;
    acknowledge(&first, &delivered[..8]);
    first.stop.end();
    timeout(AT_ONCE, first.task).await.expect("the task does not end").unwrap();
    assert_eq!((gate.acknowledged().len(), gate.farewells()), (8, 1));

    let mut second = start_intake(connection(broker.port, "stop"));
    let again = deliveries(&mut second, 4).await;
    assert_eq!(payloads(&again), ["8", "9", "10", "11"]);
}

#[tokio::test]
async fn what_waits_for_a_slow_consumer_is_still_handed_out_after_stopping() {
    let broker = Mosquitto::start();
    let mut intake = intake(broker.port, "drain").await;
    plant_sends(broker.port, "mill/a", 1, numbers(0..1900)).await;
    tokio::time::sleep(A_WHILE).await;
    assert_eq!(intake.acknowledger.outstanding(), 1900);
    intake.stop.stop_deliveries();
    let mut taken = 0;
    while let Some(event) = timeout(AT_ONCE, intake.events.recv()).await.unwrap() {
        if let IntakeEvent::Delivered(batch) = event {
            taken += batch.len();
        }
    }
    assert_eq!(taken, 1900);
}

#[tokio::test]
async fn stopping_is_prompt_while_the_broker_is_away() {
    let mut broker = Mosquitto::start();
    let mut intake = intake(broker.port, "gone").await;
    broker.stop();
    assert!(matches!(next_event(&mut intake).await, IntakeEvent::Disconnected { .. }));
    tokio::time::sleep(Duration::from_millis(700)).await;
    let asked = Instant::now();
    intake.stop.end();
    timeout(AT_ONCE, intake.task).await.expect("the task does not end").unwrap();
    assert!(asked.elapsed() < AT_ONCE);
}

#[tokio::test]
async fn an_intake_whose_events_nobody_takes_any_more_ends() {
    let broker = Mosquitto::start();
    let intake = intake(broker.port, "dropped").await;
    drop(intake.events);
    plant_sends(broker.port, "mill/a", 1, numbers(0..2)).await;
    timeout(AT_ONCE, intake.task).await.expect("the task does not end").unwrap();
    let mut second = start_intake(connection(broker.port, "dropped"));
    assert_eq!(payloads(&deliveries(&mut second, 2).await), ["0", "1"]);
}

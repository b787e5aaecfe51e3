//! Messages reach the consumer, and stay with the broker until they are acknowledged.

use std::time::Duration;

use broker::IntakeEvent;

use crate::support::*;

#[tokio::test]
async fn an_acknowledged_message_is_delivered_once() {
    let broker = Mosquitto::start();
    let gate = Gate::before(broker.port, Policy::Pass).await;
    let mut first = intake(gate.port, "once").await;
    plant_sends(broker.port, "mill/tunnel-1/z1/dew", 1, numbers(0..3)).await;
    let delivered = deliveries(&mut first, 3).await;
    assert_eq!(payloads(&delivered), ["0", "1", "2"]);
    assert_eq!(delivered[0].topic, "mill/tunnel-1/z1/dew");
    assert_eq!(delivered[0].received_us, 1_000);
    assert!(!delivered[0].retained && !delivered[0].duplicate);
    assert_eq!(first.acknowledger.outstanding(), 3);
    acknowledge(&first, &delivered);
    assert_eq!(first.acknowledger.outstanding(), 0);
    gate.has_acknowledged(3).await;
    nothing_more(&mut first).await;
    crash(first).await;

    let mut second = start_intake(connection(broker.port, "once"));
    assert!(subscribed(&mut second).await, "the broker has kept the session");
    nothing_more(&mut second).await;
}

#[tokio::test]
async fn an_unacknowledged_message_is_delivered_again_after_a_crash() {
    let broker = Mosquitto::start();
    let gate = Gate::before(broker.port, Policy::Pass).await;
    let mut first = intake(gate.port, "again").await;
    plant_sends(broker.port, "mill/a", 1, numbers(0..5)).await;
    let delivered = deliveries(&mut first, 5).await;
    acknowledge(&first, &delivered[..2]);
    gate.has_acknowledged(2).await;
    crash(first).await;

    let mut second = start_intake(connection(broker.port, "again"));
    let again = deliveries(&mut second, 3).await;
    assert_eq!(payloads(&again), ["2", "3", "4"]);
    assert!(again.iter().all(|delivery| delivery.duplicate));
    acknowledge(&second, &again);
    nothing_more(&mut second).await;
}

#[tokio::test]
async fn messages_sent_while_we_are_away_are_delivered() {
    let broker = Mosquitto::start();
    crash(intake(broker.port, "away").await).await;
    plant_sends(broker.port, "mill/a", 1, numbers(0..1500)).await;
    plant_sends(broker.port, "mill/a", 0, numbers(1500..1600)).await;
    let mut back = start_intake(connection(broker.port, "away"));
    let delivered = deliveries(&mut back, 1600).await;
    assert_eq!(payloads(&delivered), numbers(0..1600));
}

#[tokio::test]
async fn a_restart_of_the_broker_loses_nothing() {
    let mut broker = Mosquitto::start();
    let gate = Gate::before(broker.port, Policy::Pass).await;
    let mut intake = intake(gate.port, "restart").await;
    plant_sends(broker.port, "mill/a", 1, numbers(0..4)).await;
    let before = deliveries(&mut intake, 4).await;
    acknowledge(&intake, &before[..1]);
    gate.has_acknowledged(1).await;
    broker.stop();
    assert!(matches!(next_event(&mut intake).await, IntakeEvent::Disconnected { .. }));
    // These belong to the connection that is gone: the broker will deliver their messages again.
    acknowledge(&intake, &before[1..]);
    broker.start_again();
    assert!(connected_with_session(&mut intake).await, "the broker has kept the session");
    let again = deliveries(&mut intake, 3).await;
    assert_eq!(payloads(&again), ["1", "2", "3"]);
    acknowledge(&intake, &again);
    plant_sends(broker.port, "mill/a", 1, numbers(4..6)).await;
    assert_eq!(payloads(&deliveries(&mut intake, 2).await), ["4", "5"]);
}

#[tokio::test]
async fn acknowledgements_go_out_in_the_order_of_receipt() {
    let broker = Mosquitto::start();
    let gate = Gate::before(broker.port, Policy::Pass).await;
    let mut intake = intake(gate.port, "order").await;
    plant_sends(broker.port, "mill/a", 1, numbers(0..100)).await;
    let delivered = deliveries(&mut intake, 100).await;
    let acknowledger = intake.acknowledger.clone();
    let tokens: Vec<_> = delivered.iter().map(|delivery| delivery.token).collect();
    let backwards = tokens.clone();
    let another_thread = std::thread::spawn(move || {
        for token in backwards.into_iter().skip(1).rev() {
            acknowledger.acknowledge([token, token]);
        }
    });
    another_thread.join().unwrap();
    nothing_more(&mut intake).await;
    assert_eq!(gate.acknowledged(), [], "the first message is still in use");
    intake.acknowledger.acknowledge([tokens[0]]);
    gate.has_acknowledged(100).await;
    let acknowledged = gate.acknowledged();
    assert_eq!(acknowledged.len(), 100);
    assert!(acknowledged.is_sorted_by(|earlier, later| earlier < later), "{acknowledged:?}");
}

#[tokio::test]
async fn a_token_of_an_earlier_connection_acknowledges_nothing() {
    let mut broker = Mosquitto::start();
    let gate = Gate::before(broker.port, Policy::Pass).await;
    let mut intake = intake(gate.port, "stale").await;
    plant_sends(broker.port, "mill/a", 1, numbers(0..3)).await;
    let before = deliveries(&mut intake, 3).await;
    broker.stop();
    broker.start_again();
    let again = deliveries(&mut intake, 3).await;
    acknowledge(&intake, &before);
    assert_eq!(intake.acknowledger.outstanding(), 3);
    nothing_more(&mut intake).await;
    assert_eq!(gate.acknowledged(), []);
    acknowledge(&intake, &again);
    gate.has_acknowledged(3).await;
}

#[tokio::test]
async fn a_consumer_that_takes_nothing_keeps_its_connection() {
    let broker = Mosquitto::start();
    let mut connection = connection(broker.port, "busy");
    // Mosquitto cuts a client that is silent for one and a half times this.
    connection.keep_alive = Duration::from_secs(5);
    connection.receive_maximum = 500;
    let mut intake = start_intake(connection);
    subscribed(&mut intake).await;
    plant_sends(broker.port, "mill/a", 1, numbers(0..20_000)).await;
    tokio::time::sleep(Duration::from_secs(9)).await;
    assert_eq!(intake.acknowledger.outstanding(), 500, "the broker stops at the receive maximum");
    let mut taken = Vec::new();
    while taken.len() < 20_000 {
        match next_event(&mut intake).await {
            IntakeEvent::Delivered(batch) => {
                acknowledge(&intake, &batch);
                taken.extend(batch);
            }
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(payloads(&taken), numbers(0..20_000));
}

#[tokio::test]
async fn a_burst_arrives_exactly_once_when_acknowledged_in_groups() {
    let broker = Mosquitto::start();
    let mut intake = intake(broker.port, "burst").await;
    let port = broker.port;
    let plant = tokio::spawn(async move { plant_sends(port, "mill/a", 1, numbers(0..20_000)).await });
    let mut taken = Vec::new();
    let mut batches = 0;
    let mut group = tokio::time::interval(Duration::from_millis(20));
    while taken.len() < 20_000 {
        group.tick().await;
        let mut safe = Vec::new();
        while let Ok(event) = intake.events.try_recv() {
            if let IntakeEvent::Delivered(batch) = event {
                batches += 1;
                safe.extend(batch);
            }
        }
        acknowledge(&intake, &safe);
        taken.extend(safe);
    }
    plant.await.unwrap();
    nothing_more(&mut intake).await;
    assert_eq!(taken.len(), 20_000);
    assert_eq!(distinct(&taken), 20_000);
    assert!(batches < 4_000, "{batches} batches: messages that are ready come together");
}

#[tokio::test]
async fn a_message_that_is_too_large_is_reported_and_stops_nothing() {
    let broker = Mosquitto::start();
    let gate = Gate::before(broker.port, Policy::Pass).await;
    let mut connection = connection(gate.port, "large");
    connection.largest_payload = 100;
    let mut intake = start_intake(connection);
    subscribed(&mut intake).await;
    plant_sends(broker.port, "mill/a", 1, ["1".repeat(100), "2".repeat(101), "3".to_owned()]).await;
    let before = deliveries(&mut intake, 1).await;
    assert_eq!(before[0].payload.len(), 100);
    let expected = IntakeEvent::TooLarge { topic: "mill/a".to_owned(), bytes: 101, received_us: 1_000 };
    assert_eq!(next_event(&mut intake).await, expected);
    let after = deliveries(&mut intake, 1).await;
    assert_eq!(payloads(&after), ["3"]);
    acknowledge(&intake, &before);
    acknowledge(&intake, &after);
    gate.has_acknowledged(3).await;
}

#[tokio::test]
async fn retained_messages_come_with_a_new_subscription_only() {
    let mut broker = Mosquitto::start();
    let plant = publisher(broker.port, "plant", "mill").await;
    plant.publish("mill/tunnel-1/product", "T800", true).await.unwrap();
    let mut intake = intake(broker.port, "retained").await;
    let stored = deliveries(&mut intake, 1).await;
    assert!(stored[0].retained);
    acknowledge(&intake, &stored);
    nothing_more(&mut intake).await;
    broker.stop();
    broker.start_again();
    assert!(subscribed(&mut intake).await);
    nothing_more(&mut intake).await;
}

#[tokio::test]
async fn messages_without_acknowledgement_are_delivered_too() {
    let broker = Mosquitto::start();
    let mut intake = intake(broker.port, "qos-0").await;
    plant_sends(broker.port, "mill/a", 0, numbers(0..3)).await;
    let delivered = deliveries(&mut intake, 3).await;
    assert_eq!(payloads(&delivered), ["0", "1", "2"]);
    assert_eq!(intake.acknowledger.outstanding(), 0);
    acknowledge(&intake, &delivered);
}

#[tokio::test]
async fn many_topics_are_all_subscribed() {
    let broker = Mosquitto::start();
    let topics: Vec<String> = (0..1001).map(|line| format!("mill/{line}/z1/dew")).collect();
    let mut intake = broker::Intake::start(connection(broker.port, "many"), topics, std::sync::Arc::new(|| 0)).unwrap();
    subscribed(&mut intake).await;
    for line in [0, 199, 200, 1000] {
        plant_sends(broker.port, &format!("mill/{line}/z1/dew"), 1, ["1".to_owned()]).await;
    }
    assert_eq!(deliveries(&mut intake, 4).await.len(), 4);
}

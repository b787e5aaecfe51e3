//! What the tests share: a broker, a gate before it, and shorthands.

mod certificates;
mod gate;
mod mosquitto;

use std::collections::HashSet;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::Duration;

use broker::{Connection, Delivery, Intake, IntakeEvent, Publisher, PublisherState};
use tokio::time::timeout;

pub(crate) use certificates::Certificates;
pub(crate) use gate::{Gate, Policy};
pub(crate) use mosquitto::Mosquitto;

/// Longest wait for something that must happen; a test that gets here has failed.
pub(crate) const SOON: Duration = Duration::from_secs(10);

/// Longest time for what must happen without delay, on a busy machine.
pub(crate) const AT_ONCE: Duration = Duration::from_secs(1);

/// How long nothing must happen to be believed.
pub(crate) const A_WHILE: Duration = Duration::from_millis(300);

pub(crate) fn connection(port: u16, client_id: &str) -> Connection {
    Connection::parse_url(&format!("mqtt://127.0.0.1:{port}"), client_id).unwrap()
}

/// An intake of everything below `mill/`, connected and subscribed.
pub(crate) async fn intake(port: u16, client_id: &str) -> Intake {
    let mut intake = start_intake(connection(port, client_id));
    subscribed(&mut intake).await;
    intake
}

pub(crate) fn start_intake(connection: Connection) -> Intake {
    Intake::start(connection, vec!["mill/#".to_owned()], Arc::new(|| 1_000)).unwrap()
}

pub(crate) async fn next_event(intake: &mut Intake) -> IntakeEvent {
    timeout(SOON, intake.events.recv()).await.expect("no event within 10 s").expect("the events have ended")
}

/// Waits until the intake has connected; whether the broker had its session.
pub(crate) async fn connected_with_session(intake: &mut Intake) -> bool {
    loop {
        match next_event(intake).await {
            IntakeEvent::Connected { session_present, .. } => return session_present,
            IntakeEvent::Disconnected { .. } => {}
            other => panic!("before connecting: {other:?}"),
        }
    }
}

/// Waits until the intake has connected and subscribed, with no message before; whether the broker
/// had its session.
pub(crate) async fn subscribed(intake: &mut Intake) -> bool {
    let present = connected_with_session(intake).await;
    assert_eq!(next_event(intake).await, IntakeEvent::Subscribed { refused: Vec::new() });
    present
}

/// The next `count` messages.
pub(crate) async fn deliveries(intake: &mut Intake, count: usize) -> Vec<Delivery> {
    let mut found = Vec::new();
    while found.len() < count {
        if let IntakeEvent::Delivered(batch) = next_event(intake).await {
            found.extend(batch);
        }
    }
    assert_eq!(found.len(), count, "more messages than expected");
    found
}

/// Asserts that no message comes for a while.
pub(crate) async fn nothing_more(intake: &mut Intake) {
    if let Ok(Some(event)) = timeout(A_WHILE, intake.events.recv()).await {
        assert!(!matches!(event, IntakeEvent::Delivered(_)), "unexpected {event:?}");
    }
}

pub(crate) fn acknowledge(intake: &Intake, deliveries: &[Delivery]) {
    intake.acknowledger.acknowledge(deliveries.iter().map(|delivery| delivery.token));
}

/// Drops the client as a crash would, without a farewell.
pub(crate) async fn crash(intake: Intake) {
    intake.task.abort();
    assert!(intake.task.await.unwrap_err().is_cancelled());
}

pub(crate) fn payloads(deliveries: &[Delivery]) -> Vec<String> {
    deliveries.iter().map(|delivery| String::from_utf8(delivery.payload.clone()).unwrap()).collect()
}

pub(crate) fn distinct(deliveries: &[Delivery]) -> usize {
    deliveries.iter().map(|delivery| &delivery.payload).collect::<HashSet<_>>().len()
}

/// A publisher with its own root, connected.
pub(crate) async fn publisher(port: u16, client_id: &str, root: &str) -> Publisher {
    let (publisher, _task) = Publisher::start(connection(port, client_id), None, root).unwrap();
    connected(&publisher, 1).await;
    publisher
}

/// Waits for a publisher's connection number `number`, or a later one.
pub(crate) async fn connected(publisher: &Publisher, number: u64) {
    let mut state = publisher.state();
    let connected =
        state.wait_for(|state| matches!(state, PublisherState::Connected { connection, .. } if *connection >= number));
    timeout(SOON, connected).await.expect("not connected within 10 s").unwrap();
}

/// Publishes each line as a message with another program than ours, with QoS 1 or 0; returns when
/// the broker has them all.
pub(crate) async fn plant_sends(port: u16, topic: &str, qos: u8, lines: impl IntoIterator<Item = String>) {
    let lines: Vec<String> = lines.into_iter().collect();
    let mut command = Command::new("mosquitto_pub");
    command.args(["-h", "127.0.0.1", "-p", &port.to_string(), "-t", topic, "-q", &qos.to_string(), "-l"]);
    let sending = tokio::task::spawn_blocking(move || {
        let mut child = command
            .stdin(Stdio::piped())
            .spawn()
            .expect("mosquitto_pub can't be run: install Debian's package mosquitto-clients");
        let mut stdin = child.stdin.take().unwrap();
        std::io::Write::write_all(&mut stdin, (lines.join("\n") + "\n").as_bytes()).unwrap();
        drop(stdin);
        assert!(child.wait().unwrap().success());
    });
    sending.await.unwrap();
}

/// Numbers as texts.
pub(crate) fn numbers(range: std::ops::Range<u32>) -> Vec<String> {
    range.map(|number| number.to_string()).collect()
}

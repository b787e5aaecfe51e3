//! Messages leave below the root only, and count as sent when the broker has them.

use std::fs;
use std::future::{Future, poll_fn};
use std::pin::Pin;
use std::task::Poll;

use broker::{ConnectError, IntakeEvent, PublishError, Publisher, PublisherState, Will};
use tokio::time::timeout;

use crate::support::*;

fn will() -> Will {
    Will { topic: "mill/out/status".to_owned(), payload: b"offline".to_vec() }
}

#[tokio::test]
async fn nothing_is_published_outside_the_root() {
    let broker = Mosquitto::start();
    let mut witness = intake(broker.port, "witness").await;
    let publisher = publisher(broker.port, "rooted", "mill/out").await;
    for topic in ["mill/outer/x", "mill/in", "mill/out", "mill/out/", "mill/out/+", "$SYS/x", ""] {
        let refused = publisher.publish(topic, "1", false).await;
        assert!(matches!(refused, Err(PublishError::OutsideRoot { .. })), "{topic}: {refused:?}");
    }
    publisher.publish("mill/out/tunnel-1/load", "normal", false).await.unwrap();
    let seen = deliveries(&mut witness, 1).await;
    assert_eq!((seen[0].topic.as_str(), seen[0].payload.as_slice()), ("mill/out/tunnel-1/load", b"normal".as_slice()));
}

#[tokio::test]
async fn a_root_or_will_that_cannot_be_kept_is_refused_at_the_start() {
    for (root, will) in [("", None), ("mill/#", None), ("$SYS", None), ("mill/", None), ("mill/other", Some(will()))] {
        let refused = Publisher::start(connection(1, "wrong"), will, root);
        assert!(matches!(refused, Err(ConnectError::Topic { .. })), "{root}");
    }
}

#[tokio::test]
async fn the_last_will_appears_after_a_crash_and_not_after_a_farewell() {
    let broker = Mosquitto::start();
    let mut witness = intake(broker.port, "witness").await;
    let (publisher, task) = Publisher::start(connection(broker.port, "closing"), Some(will()), "mill/out").unwrap();
    connected(&publisher, 1).await;
    publisher.close().await;
    timeout(AT_ONCE, task).await.expect("the task does not end").unwrap();
    nothing_more(&mut witness).await;

    let (publisher, task) = Publisher::start(connection(broker.port, "closing"), Some(will()), "mill/out").unwrap();
    connected(&publisher, 1).await;
    task.abort();
    assert_eq!(payloads(&deliveries(&mut witness, 1).await), ["offline"]);
    let mut later = intake(broker.port, "later").await;
    assert!(deliveries(&mut later, 1).await[0].retained, "a display that starts later sees it");
}

#[tokio::test]
async fn the_last_will_appears_when_every_handle_is_dropped() {
    let broker = Mosquitto::start();
    let mut witness = intake(broker.port, "witness").await;
    let (publisher, _task) = Publisher::start(connection(broker.port, "dropped"), Some(will()), "mill/out").unwrap();
    connected(&publisher, 1).await;
    drop(publisher);
    assert_eq!(payloads(&deliveries(&mut witness, 1).await), ["offline"]);
}

#[tokio::test]
async fn publishing_fails_while_the_broker_is_away_and_works_after_its_return() {
    let mut broker = Mosquitto::start();
    let publisher = publisher(broker.port, "patient", "mill/out").await;
    publisher.publish("mill/out/a", "1", true).await.unwrap();
    broker.stop();
    let failed = timeout(SOON, publisher.publish("mill/out/a", "2", true)).await.unwrap();
    assert_eq!(failed, Err(PublishError::Disconnected));
    assert!(matches!(&*publisher.state().borrow(), PublisherState::Disconnected { .. }));
    let failed = timeout(AT_ONCE, publisher.publish("mill/out/a", "2", true)).await.unwrap();
    assert_eq!(failed, Err(PublishError::Disconnected));
    broker.start_again();
    connected(&publisher, 2).await;
    publisher.publish("mill/out/a", "3", true).await.unwrap();
    let mut witness = intake(broker.port, "witness").await;
    assert_eq!(payloads(&deliveries(&mut witness, 1).await), ["3"]);
}

#[tokio::test]
async fn many_messages_leave_in_the_order_of_the_calls() {
    let broker = Mosquitto::start();
    let mut witness = intake(broker.port, "witness").await;
    let publisher = publisher(broker.port, "many", "mill/out").await;
    let mut sending = tokio::task::JoinSet::new();
    // On this runtime of one thread, tasks start in the order in which they were made.
    for number in numbers(0..1500) {
        let publisher = publisher.clone();
        sending.spawn(async move { publisher.publish("mill/out/a", number, false).await });
    }
    let seen = deliveries(&mut witness, 1500).await;
    assert_eq!(payloads(&seen), numbers(0..1500));
    while let Some(sent) = sending.join_next().await {
        assert_eq!(sent.unwrap(), Ok(()));
    }
}

#[tokio::test]
async fn closing_waits_for_what_is_on_its_way() {
    let broker = Mosquitto::start();
    let publisher = publisher(broker.port, "last", "mill/out").await;
    let send = |number| Box::pin(publisher.publish("mill/out/status", number, true));
    // As many as Tokio lets one task send without a pause.
    let mut sending: Vec<_> = numbers(0..100).into_iter().map(send).collect();
    sent_together(&mut sending).await;
    publisher.close().await;
    for message in sending {
        assert_eq!(message.await, Ok(()));
    }
    assert_eq!(publisher.publish("mill/out/a", "1", false).await, Err(PublishError::Disconnected));
}

#[tokio::test]
async fn closing_is_prompt_while_the_broker_is_away() {
    let mut broker = Mosquitto::start();
    let (publisher, task) = Publisher::start(connection(broker.port, "gone"), None, "mill/out").unwrap();
    connected(&publisher, 1).await;
    broker.stop();
    let lost = publisher.publish("mill/out/a", "1", false).await;
    assert_eq!(lost, Err(PublishError::Disconnected));
    timeout(AT_ONCE, publisher.close()).await.expect("closing takes too long");
    timeout(AT_ONCE, task).await.expect("the task does not end").unwrap();
}

#[tokio::test]
async fn a_message_larger_than_the_broker_takes_fails_alone() {
    let broker = Mosquitto::start_with("allow_anonymous true\nmax_packet_size 200");
    let publisher = publisher(broker.port, "large", "mill/out").await;
    let refused = publisher.publish("mill/out/a", vec![b'x'; 300], false).await;
    assert!(matches!(refused, Err(PublishError::TooLarge { limit: 200, .. })), "{refused:?}");
    publisher.publish("mill/out/a", "1", false).await.unwrap();
    assert!(matches!(&*publisher.state().borrow(), PublisherState::Connected { connection: 1, .. }));
}

#[tokio::test]
async fn each_caller_gets_the_outcome_of_its_own_message() {
    // The broker takes one message at a time, so that the others wait for their packet ids.
    let rules = tempfile::NamedTempFile::new().unwrap();
    fs::write(rules.path(), "topic write mill/out/allowed/#\n").unwrap();
    let broker = Mosquitto::start_with(&format!(
        "allow_anonymous true\nmax_inflight_messages 1\nacl_file {}",
        rules.path().display()
    ));
    let publisher = publisher(broker.port, "several", "mill/out").await;
    let topics = ["mill/out/allowed/1", "mill/out/allowed/2", "mill/out/forbidden"];
    let mut sending = topics.map(|topic| Box::pin(publisher.publish(topic, "1", false)));
    sent_together(&mut sending).await;
    let [first, second, third] = sending;
    assert_eq!((first.await, second.await), (Ok(()), Ok(())));
    let refused = third.await;
    assert!(matches!(&refused, Err(PublishError::Refused { topic, .. }) if topic == topics[2]), "{refused:?}");
}

/// Polls each message once, in order: all have asked to be sent before any is.
async fn sent_together<F: Future<Output = Result<(), PublishError>>>(messages: &mut [Pin<Box<F>>]) {
    poll_fn(|context| {
        assert!(messages.iter_mut().all(|message| message.as_mut().poll(context).is_pending()));
        Poll::Ready(())
    })
    .await;
}

#[tokio::test]
async fn the_shipped_access_list_lets_the_service_write_its_own_tree_only() {
    let shipped = concat!(env!("CARGO_MANIFEST_DIR"), "/../../deploy/mosquitto/acl");
    // Without passwords, user names are taken as given.
    let access = format!("allow_anonymous true\nacl_file {shipped}");
    let broker = Mosquitto::start_with(&access);
    let as_user = |user: &str, client_id: &str| {
        let mut connection = connection(broker.port, client_id);
        connection.username = Some(user.to_owned());
        connection
    };
    let (service, _task) = Publisher::start(as_user("ovenward", "service"), None, "ovenward").unwrap();
    connected(&service, 1).await;
    service.publish("ovenward/millbrook/status", "{}", true).await.unwrap();
    let refused = service.publish("ovenward/elsewhere/status", "{}", true).await;
    assert!(matches!(refused, Err(PublishError::Refused { .. })), "{refused:?}");
    let (intruder, _task) = Publisher::start(as_user("ovenward", "intruder"), None, "mill").unwrap();
    connected(&intruder, 1).await;
    let refused = intruder.publish("mill/tunnel-1/band", "1", false).await;
    assert!(matches!(refused, Err(PublishError::Refused { .. })), "{refused:?}");

    let mut reader = start_intake(as_user("ovenward", "reader"));
    subscribed(&mut reader).await;
    let (gateway, _task) = Publisher::start(as_user("gateway", "gateway"), None, "mill").unwrap();
    connected(&gateway, 1).await;
    gateway.publish("mill/tunnel-1/band", "1.2", false).await.unwrap();
    assert_eq!(payloads(&deliveries(&mut reader, 1).await), ["1.2"]);
    assert!(fs::read_to_string(shipped).unwrap().contains("topic read mill/#"));
}

#[tokio::test]
async fn a_host_writes_to_its_topics_alone_and_has_another_will_at_each_connection() {
    let mut broker = Mosquitto::start();
    let state = "mill/STATE/host".to_owned();
    let connections = std::sync::atomic::AtomicU64::new(0);
    let topic = state.clone();
    let will = move || {
        let number = connections.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1;
        Will { topic: topic.clone(), payload: number.to_string().into_bytes() }
    };
    let topics = vec![state.clone(), "mill/NCMD/node".to_owned()];
    let (host, task) = Publisher::start_as_host(connection(broker.port, "host"), topics, will).unwrap();
    connected(&host, 1).await;
    let mut witness = intake(broker.port, "witness").await;
    host.publish(&state, "online", true).await.unwrap();
    host.send("mill/NCMD/node", "rebirth").await.unwrap();
    assert_eq!(payloads(&deliveries(&mut witness, 2).await), ["online", "rebirth"]);
    for topic in ["mill/NCMD/other", "mill/STATE/host/more", "mill/DCMD/node/device"] {
        let refused = host.send(topic, "x").await;
        assert!(matches!(refused, Err(PublishError::NotAllowed { .. })), "{topic}: {refused:?}");
    }
    broker.stop();
    broker.start_again();
    connected(&host, 2).await;
    task.abort();
    let last = wait_for_will(broker.port).await;
    assert_ne!(last, "1", "the will of the first connection is of the past");
    let wildcard = Publisher::start_as_host(connection(1, "wrong"), vec!["mill/#".to_owned()], will_of_nobody);
    assert!(matches!(wildcard, Err(ConnectError::Topic { .. })));
}

/// The last will of a host that has vanished, as somebody who comes later sees it.
async fn wait_for_will(port: u16) -> String {
    let mut later = intake(port, "later").await;
    loop {
        if let IntakeEvent::Delivered(batch) = next_event(&mut later).await
            && let Some(will) = payloads(&batch).into_iter().find(|payload| payload != "online")
        {
            return will;
        }
    }
}

fn will_of_nobody() -> Will {
    Will { topic: "mill/x".to_owned(), payload: Vec::new() }
}

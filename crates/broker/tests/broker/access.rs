//! The access list that is shipped, with encryption and passwords: what it lets through, and what it keeps out.

use std::process::Command;

use broker::{Connection, Intake, IntakeEvent, PublishError, Publisher, PublisherState, Secret, try_connect};
use tokio::time::timeout;

use crate::support::*;

/// A broker set up as `deploy/mosquitto` describes it, for three of its users.
struct Guarded {
    certificates: Certificates,
    broker: Mosquitto,
}

impl Guarded {
    fn start() -> Self {
        let certificates = Certificates::make();
        let passwords = certificates.path().join("passwords");
        for (number, user) in ["ovenward", "gateway", "display"].iter().enumerate() {
            let mut command = Command::new("mosquitto_passwd");
            command.arg("-b").args((number == 0).then_some("-c")).arg(&passwords).args([user, "secret"]);
            let made = command.status().expect("mosquitto_passwd can't be run: install Debian's package mosquitto");
            assert!(made.success());
        }
        let list = concat!(env!("CARGO_MANIFEST_DIR"), "/../../deploy/mosquitto/acl");
        let broker = certificates.broker(
            "broker",
            &format!("allow_anonymous false\npassword_file {}\nacl_file {list}", passwords.display()),
        );
        Self { certificates, broker }
    }

    fn connection(&self, user: &str, client_id: &str) -> Connection {
        Connection {
            client_id: client_id.to_owned(),
            username: Some(user.to_owned()),
            password: Some(Secret::new("secret")),
            ..self.certificates.connection(self.broker.port)
        }
    }

    /// A client that writes as this user wherever its own program lets it.
    async fn writer(&self, user: &str, root: &str) -> Publisher {
        let client_id = format!("{user}-{root}");
        let (publisher, _task) = Publisher::start(self.connection(user, &client_id), None, root).unwrap();
        connected(&publisher, 1).await;
        publisher
    }
}

#[tokio::test]
async fn the_service_hears_the_plant_and_writes_below_its_root_alone() {
    let guarded = Guarded::start();
    let mut intake =
        Intake::start(guarded.connection("ovenward", "ovenward"), vec!["mill/#".into()], std::sync::Arc::new(|| 0))
            .unwrap();
    subscribed(&mut intake).await;
    let mut display = Intake::start(
        guarded.connection("display", "display"),
        vec!["ovenward/millbrook/#".into()],
        std::sync::Arc::new(|| 0),
    )
    .unwrap();
    subscribed(&mut display).await;

    guarded.writer("gateway", "mill").await.publish("mill/tunnel-1/band", "1.2", false).await.unwrap();
    assert_eq!(payloads(&deliveries(&mut intake, 1).await), ["1.2"]);
    let own = guarded.writer("ovenward", "ovenward").await;
    own.publish("ovenward/millbrook/tunnel-1/load", "normal", true).await.unwrap();
    assert_eq!(payloads(&deliveries(&mut display, 1).await), ["normal"]);

    // Were the program to go wrong, the broker would still keep it out of everything else.
    for (root, topic) in [
        ("mill", "mill/tunnel-1/band"),
        ("ovenward", "ovenward/other-site/status"),
        ("spBv1.0", "spBv1.0/Millbrook/NCMD/gateway-1"),
        ("plc", "plc/tunnel-1/set-speed"),
    ] {
        let refused = guarded.writer("ovenward", root).await.publish(topic, "2", false).await;
        assert!(matches!(refused, Err(PublishError::Refused { .. })), "{topic}: {refused:?}");
    }
    nothing_more(&mut intake).await;
    let refused = guarded.writer("display", "ovenward").await.publish("ovenward/millbrook/status", "x", false).await;
    assert!(matches!(refused, Err(PublishError::Refused { .. })), "a display only reads: {refused:?}");
}

#[tokio::test]
async fn what_may_not_be_read_never_arrives() {
    let guarded = Guarded::start();
    let topics = vec!["ovenward/millbrook/#".to_owned()];
    let mut gateway =
        Intake::start(guarded.connection("gateway", "curious"), topics, std::sync::Arc::new(|| 0)).unwrap();
    // Mosquitto grants any subscription and filters what is sent; a broker that refuses is as right.
    while !matches!(next_event(&mut gateway).await, IntakeEvent::Subscribed { .. }) {}
    let own = guarded.writer("ovenward", "ovenward").await;
    own.publish("ovenward/millbrook/status", "online", true).await.unwrap();
    nothing_more(&mut gateway).await;
}

#[tokio::test]
async fn a_certificate_alone_lets_nobody_in() {
    let guarded = Guarded::start();
    let wrong = Connection { password: Some(Secret::new("guessed")), ..guarded.connection("ovenward", "guess") };
    let error = try_connect(&wrong).await.unwrap_err();
    assert!(error.to_string().contains("does not know our user or takes another password"), "{error}");
    let (publisher, _task) = Publisher::start(wrong, None, "ovenward").unwrap();
    let mut state = publisher.state();
    let told = |state: &PublisherState| matches!(state, PublisherState::Disconnected { reason } if reason.contains("password_file"));
    timeout(SOON, state.wait_for(told)).await.expect("the refusal is not told").unwrap();
}

//! Encrypted connections, with an authority made for the test.

use broker::{CertificateEnd, ConnectError, Connection, Protocol, try_connect};

use crate::support::*;

/// 2090-01-01T00:00:00Z, when certificates made for a test end.
const ENDS_US: i64 = 3_786_912_000_000_000;

#[tokio::test]
async fn both_sides_show_their_certificates() {
    let certificates = Certificates::make();
    let broker = certificates.broker("broker", "allow_anonymous true");
    let mut intake = start_intake(certificates.connection(broker.port));
    subscribed(&mut intake).await;
    let (publisher, _task) = broker::Publisher::start(certificates.connection(broker.port), None, "mill").unwrap();
    connected(&publisher, 1).await;
    publisher.publish("mill/a", "1", false).await.unwrap();
    let delivered = deliveries(&mut intake, 1).await;
    assert_eq!(payloads(&delivered), ["1"]);
    let answer = try_connect(&certificates.connection(broker.port)).await.unwrap();
    assert_eq!(answer.protocol, Protocol::V5);
    assert_eq!(answer.certificate, Some(CertificateEnd { whose: "the broker's certificate", ends_us: ENDS_US }));
}

#[test]
fn the_ends_of_our_own_certificates_are_known_before_any_connection() {
    let certificates = Certificates::make();
    let connection = Connection { cert_file: certificates.read("ended-client.pem"), ..certificates.connection(8883) };
    let ends: Vec<(&str, bool)> =
        connection.certificate_ends().iter().map(|end| (end.whose, end.ends_us < ENDS_US / 2)).collect();
    assert_eq!(ends, [("the authority's certificate (`ca_file`)", false), ("our own certificate (`cert_file`)", true)]);
}

#[tokio::test]
async fn what_is_wrong_with_certificates_is_said() {
    let certificates = Certificates::make();
    let broker = certificates.broker("broker", "allow_anonymous true");
    let right = || certificates.connection(broker.port);
    let wrong = [
        (Connection { ca_file: None, ..right() }, "needs `ca_file`"),
        (Connection { ca_file: Some(b"no PEM".to_vec()), ..right() }, "`ca_file` holds no certificate"),
        (
            Connection { ca_file: certificates.read("stranger.pem"), ..right() },
            "not signed by the authority in `ca_file`",
        ),
        (Connection { host: "127.0.0.1".to_owned(), ..right() }, "made out to another host name"),
        (Connection { cert_file: None, key_file: None, ..right() }, "asks for a client certificate"),
        (Connection { key_file: None, ..right() }, "`cert_file` needs its `key_file`"),
        (Connection { key_file: certificates.read("plant.key"), ..right() }, "don't fit together"),
        (
            Connection {
                cert_file: certificates.read("ended-client.pem"),
                key_file: certificates.read("ended-client.key"),
                ..right()
            },
            "our own certificate has expired",
        ),
        (
            Connection {
                cert_file: certificates.read("stranger.pem"),
                key_file: certificates.read("stranger.key"),
                ..right()
            },
            "is `cert_file` signed by the authority it trusts?",
        ),
    ];
    for (connection, reason) in wrong {
        let error = try_connect(&connection).await.unwrap_err();
        assert!(matches!(error, ConnectError::Tls { .. }), "{error:?}");
        assert!(error.to_string().contains(reason), "expected {reason:?} in: {error}");
    }
    let ended = certificates.broker("ended-broker", "allow_anonymous true");
    let error = try_connect(&certificates.connection(ended.port)).await.unwrap_err();
    assert!(matches!(error, ConnectError::Tls { .. }), "{error:?}");
    assert!(error.to_string().contains("the broker's certificate has expired"), "{error}");
}

#[tokio::test]
async fn the_wrong_port_is_suspected() {
    let certificates = Certificates::make();
    let encrypted = certificates.broker("broker", "allow_anonymous true");
    let error = try_connect(&connection(encrypted.port, "plain")).await.unwrap_err();
    assert!(error.to_string().contains("if the port expects TLS, write mqtts://"), "{error}");
    let plain = Mosquitto::start();
    let error = try_connect(&certificates.connection(plain.port)).await.unwrap_err();
    assert!(matches!(error, ConnectError::Tls { .. }), "{error:?}");
    assert!(error.to_string().contains("is this the port for mqtt"), "{error}");
}

//! Encrypted connections, with an authority made for the test.

use std::fs;
use std::path::Path;
use std::process::Command;

use broker::{ConnectError, Connection, Protocol, try_connect};
use tempfile::TempDir;

use crate::support::*;

/// Certificates: an authority, a broker named `localhost`, a client, and a stranger authority.
struct Certificates(TempDir);

impl Certificates {
    fn make() -> Self {
        let made = Self(tempfile::tempdir().unwrap());
        for authority in ["plant", "stranger"] {
            made.openssl(&format!(
                "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 -subj /CN={authority} \
                 -keyout {authority}.key -out {authority}.pem"
            ));
        }
        for (name, host) in [("localhost", "DNS:localhost"), ("client", "DNS:client")] {
            made.openssl(&format!(
                "req -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -subj /CN={name} -keyout {name}.key -out {name}.csr"
            ));
            fs::write(made.path().join("extensions"), format!("subjectAltName={host}\n")).unwrap();
            made.openssl(&format!(
                "x509 -req -in {name}.csr -CA plant.pem -CAkey plant.key -CAcreateserial -days 2 \
                 -extfile extensions -out {name}.pem"
            ));
        }
        made
    }

    fn path(&self) -> &Path {
        self.0.path()
    }

    fn openssl(&self, arguments: &str) {
        let output = Command::new("openssl")
            .args(arguments.split_whitespace())
            .current_dir(self.path())
            .output()
            .expect("openssl can't be run: install Debian's package openssl");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    }

    fn read(&self, file: &str) -> Option<Vec<u8>> {
        Some(fs::read(self.path().join(file)).unwrap())
    }

    fn broker(&self) -> Mosquitto {
        let folder = self.path().display();
        Mosquitto::start_with(&format!(
            "allow_anonymous true\ncafile {folder}/plant.pem\ncertfile {folder}/localhost.pem\n\
             keyfile {folder}/localhost.key\nrequire_certificate true"
        ))
    }

    /// A connection that has all it needs.
    fn connection(&self, port: u16) -> Connection {
        let mut connection = Connection::parse_url(&format!("mqtts://localhost:{port}"), "tls").unwrap();
        connection.ca_file = self.read("plant.pem");
        connection.cert_file = self.read("client.pem");
        connection.key_file = self.read("client.key");
        connection
    }
}

#[tokio::test]
async fn both_sides_show_their_certificates() {
    let certificates = Certificates::make();
    let broker = certificates.broker();
    let mut intake = start_intake(certificates.connection(broker.port));
    subscribed(&mut intake).await;
    let (publisher, _task) = broker::Publisher::start(certificates.connection(broker.port), None, "mill").unwrap();
    connected(&publisher, 1).await;
    publisher.publish("mill/a", "1", false).await.unwrap();
    let delivered = deliveries(&mut intake, 1).await;
    assert_eq!(payloads(&delivered), ["1"]);
    assert_eq!(try_connect(&certificates.connection(broker.port)).await, Ok(Protocol::V5));
}

#[tokio::test]
async fn what_is_wrong_with_certificates_is_said() {
    let certificates = Certificates::make();
    let broker = certificates.broker();
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
    ];
    for (connection, reason) in wrong {
        let error = try_connect(&connection).await.unwrap_err();
        assert!(matches!(error, ConnectError::Tls { .. }), "{error:?}");
        assert!(error.to_string().contains(reason), "expected {reason:?} in: {error}");
    }
}

#[tokio::test]
async fn the_wrong_port_is_suspected() {
    let certificates = Certificates::make();
    let encrypted = certificates.broker();
    let error = try_connect(&connection(encrypted.port, "plain")).await.unwrap_err();
    assert!(error.to_string().contains("if the port expects TLS, write mqtts://"), "{error}");
    let plain = Mosquitto::start();
    let error = try_connect(&certificates.connection(plain.port)).await.unwrap_err();
    assert!(matches!(error, ConnectError::Tls { .. }), "{error:?}");
    assert!(error.to_string().contains("is this the port for mqtt"), "{error}");
}

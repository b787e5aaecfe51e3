//! The console over TLS: a certificate that is renewed is taken over while the service runs, one that is broken is not.

use std::fs;
use std::io::{Read, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::process::Stdio;
use std::sync::Arc;
use std::time::Duration;

use rcgen::{CertificateParams, KeyPair};
use rustls::pki_types::{CertificateDer, ServerName};
use rustls::{ClientConfig, ClientConnection, RootCertStore, StreamOwned};

use crate::plant::{Plant, wait_for};
use crate::process::Running;

/// Writes a new certificate of this machine, and gives it: valid for so many days.
fn put_certificate(place: &Plant, days: i64) -> CertificateDer<'static> {
    let mut asked = CertificateParams::new(vec!["localhost".into()]).unwrap();
    let now = std::time::SystemTime::now();
    asked.not_before = (now - Duration::from_secs(100 * 86_400)).into();
    let span = Duration::from_secs(86_400 * days.unsigned_abs());
    asked.not_after = if days < 0 { now - span } else { now + span }.into();
    let key = KeyPair::generate().unwrap();
    let certificate = asked.self_signed(&key).unwrap();
    fs::write(place.path("console.pem"), certificate.pem()).unwrap();
    fs::write(place.path("console.key"), key.serialize_pem()).unwrap();
    certificate.der().clone()
}

/// What a client that trusts this certificate alone is answered.
fn get(place: &Plant, trusted: &CertificateDer<'static>, path: &str) -> Option<String> {
    let mut roots = RootCertStore::empty();
    roots.add(trusted.clone()).unwrap();
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider).with_safe_default_protocol_versions().unwrap();
    let config = Arc::new(config.with_root_certificates(roots).with_no_client_auth());
    let client = ClientConnection::new(config, ServerName::try_from("localhost").unwrap()).unwrap();
    let mut stream = StreamOwned::new(client, TcpStream::connect((Ipv4Addr::LOCALHOST, place.page_port)).ok()?);
    write!(stream, "GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n").ok()?;
    let mut answer = Vec::new();
    // Some ends of a connection are no polite ones.
    let _ = stream.read_to_end(&mut answer);
    String::from_utf8(answer).ok().filter(|answer| !answer.is_empty())
}

#[test]
fn a_renewed_certificate_is_taken_over_and_a_broken_one_is_told() {
    let place = Plant::new();
    let config = fs::read_to_string(place.path("plant.toml")).unwrap();
    let tls = "tls = { cert_file = \"console.pem\", key_file = \"console.key\" }";
    fs::write(place.path("plant.toml"), format!("{config}{tls}\n")).unwrap();
    let told = place.run(&["check"]);
    assert_eq!(told.status.code(), Some(2), "there is none yet");
    assert!(String::from_utf8_lossy(&told.stderr).contains("the console cannot speak TLS: cannot read"));
    let ended = put_certificate(&place, -1);
    assert!(place.printed(&["check"]).contains("WARNING: the console's certificate ended on"));
    let soon = put_certificate(&place, 20);
    let told = place.printed(&["check"]);
    assert!(told.contains(&format!("shows the console at https://127.0.0.1:{}\n", place.page_port)), "{told}");
    assert!(told.contains("WARNING: the console's certificate ends on"), "{told}");

    let log = fs::File::create(place.path("serve.log")).unwrap();
    let _serving = Running(place.program(&["serve"]).stdout(Stdio::null()).stderr(log).spawn().unwrap());
    let readiness = |trusted: &CertificateDer<'static>| get(&place, trusted, "/readyz").unwrap_or_default();
    wait_for("the service", || readiness(&soon).ends_with("ready"));
    assert!(fs::read_to_string(place.path("serve.log")).unwrap().contains("the console's certificate ends on"));
    assert_eq!(get(&place, &ended, "/readyz"), None, "another is not trusted");
    assert!(place.get("/readyz").is_none_or(|answer| !answer.contains("ready")), "nothing but TLS is answered");

    let second = put_certificate(&place, 90);
    wait_for("the second certificate", || readiness(&second).ends_with("ready"));
    fs::write(place.path("console.key"), "broken").unwrap();
    wait_for("the trouble", || readiness(&second).contains("holds no private key in PEM"));
    let third = put_certificate(&place, 91);
    wait_for("the third certificate", || readiness(&third).ends_with("ready"));
}

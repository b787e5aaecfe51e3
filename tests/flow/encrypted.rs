//! An encrypted broker whose certificate ends soon.

use std::fs;
use std::path::Path;

use chrono::{DateTime, Datelike, TimeDelta, Utc};
use rcgen::{BasicConstraints, CertificateParams, DnType, IsCa, Issuer, KeyPair, date_time_ymd};

use crate::plant::{Plant, wait_for};

/// Writes an authority's certificate, and one of its broker that ends on this day, with its key.
fn make_certificates(folder: &Path, ends: DateTime<Utc>) {
    let write = |name: &str, text: String| fs::write(folder.join(name), text).unwrap();
    let mut authority = CertificateParams::new(Vec::new()).unwrap();
    authority.distinguished_name.push(DnType::CommonName, "plant");
    authority.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    authority.not_after = date_time_ymd(2090, 1, 1);
    let key = KeyPair::generate().unwrap();
    write("plant.pem", authority.self_signed(&key).unwrap().pem());
    let authority = Issuer::new(authority, key);

    let mut broker = CertificateParams::new(vec!["localhost".to_owned()]).unwrap();
    broker.not_after = date_time_ymd(ends.year(), ends.month() as u8, ends.day() as u8);
    let key = KeyPair::generate().unwrap();
    write("broker.pem", broker.signed_by(&key, &authority).unwrap().pem());
    write("broker.key", key.serialize_pem());
}

#[test]
fn a_certificate_that_ends_soon_is_told_and_hinders_nothing() {
    let certificates = tempfile::tempdir().unwrap();
    let ends = Utc::now() + TimeDelta::days(10);
    make_certificates(certificates.path(), ends);
    let folder = certificates.path().display();
    let place = Plant::with_broker_settings(&format!(
        "cafile {folder}/plant.pem\ncertfile {folder}/broker.pem\nkeyfile {folder}/broker.key"
    ));
    let config = fs::read_to_string(place.path("plant.toml")).unwrap();
    let (plain, port) = (format!("\"mqtt://127.0.0.1:{}\"", place.broker_port), place.broker_port);
    assert!(config.contains(&plain), "the test's config names the broker otherwise");
    let encrypted = config.replace(&plain, &format!("\"mqtts://localhost:{port}\"\nca_file = \"{folder}/plant.pem\""));
    fs::write(place.path("plant.toml"), encrypted).unwrap();

    let serving = place.serve();
    let warning = format!("the broker's certificate ends on {}", ends.date_naive());
    wait_for("the warning", || place.get("/api/v1/status").is_some_and(|status| status.contains(&warning)));
    assert_eq!(place.get("/readyz").as_deref(), Some("ready"));
    drop(serving);
    let checked = place.printed(&["check", "--connect"]);
    assert!(checked.contains("the authority's certificate (`ca_file`) ends on 2090-01-01"), "{checked}");
    assert!(checked.contains(&format!("WARNING: {warning}")), "{checked}");
}

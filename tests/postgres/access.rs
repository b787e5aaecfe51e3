//! Ways in that do not lead in, each told in words of its own; and the encrypted one that does.

use std::fs;
use std::path::Path;

use rcgen::{BasicConstraints, CertificateParams, DnType, IsCa, Issuer, KeyPair};

use crate::content::{baked, load};
use crate::plant::Plant;
use crate::server::Server;

/// What a push says that must fail.
fn refused(place: &Plant, status: i32) -> String {
    let output = place.run(&["sql", "push"]);
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(status), "{told}");
    told
}

#[test]
fn each_way_that_does_not_lead_in_is_told_in_its_own_words() {
    let (server, place) = (Server::new(), Plant::new());
    load(&place, &baked(9));
    assert!(refused(&place, 2).contains("no section [sql]"));
    let at = |port: u16, user: &str, database: &str| format!("postgres://{user}@127.0.0.1:{port}/{database}");

    server.write_into(&place, &at(1, "ovenward", "bakery"), "");
    assert!(refused(&place, 1).contains("cannot reach 127.0.0.1:1: Connection refused"));
    server.write_into(&place, &at(server.port, "ovenward", "brewery"), "");
    assert!(refused(&place, 1).contains("has no database brewery: create it"));
    server.write_into(&place, &server.url(), "");
    fs::write(place.path("database-password"), "guessed").unwrap();
    let told = refused(&place, 1);
    assert!(told.contains("does not let ovenward in: password authentication failed"), "{told}");
    assert!(!told.contains("guessed"), "{told}");
    server.psql("CREATE ROLE guest LOGIN PASSWORD 'over the oven'");
    server.write_into(&place, &at(server.port, "guest", "bakery"), "");
    let told = refused(&place, 1);
    assert!(told.contains("guest lacks a right in bakery") && told.contains("CREATE SCHEMA ovenward"), "{told}");

    looked_at_without_a_change(&server, &place);
}

/// `check --connect`, which tries the broker beside it.
fn looked_at_without_a_change(server: &Server, place: &Plant) {
    let told = |place: &Plant| {
        let output = place.run(&["check", "--connect"]);
        (output.status.code(), String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap())
    };
    server.write_into(place, &server.url(), "");
    let (status, words) = told(place);
    assert!(status == Some(0) && words.contains("lets ovenward in: PostgreSQL 1"), "{words}");
    assert!(words.contains("unencrypted; our tables are not there yet, and will be made by the service"), "{words}");
    assert!(!server.is_made(), "looking changes nothing");

    place.printed(&["sql", "push"]);
    assert!(told(place).1.contains("our tables are there in version 1"));
    server.psql("REVOKE INSERT ON ovenward.energy FROM ovenward");
    let (status, words) = told(place);
    assert!(status == Some(1) && words.contains("it may not write into the tables. Have it own"), "{words}");
    assert!(words.contains("answers in MQTT"), "what is wrong with one hides nothing about the other: {words}");
    server.psql("INSERT INTO ovenward.migration VALUES (7, 'later', '2026-01-01T00:00:00Z', '1')");
    let too_new = "the tables in bakery at 127.0.0.1";
    assert!(told(place).1.contains(too_new));
    let words = refused(place, 1);
    assert!(words.contains(too_new) && words.contains("have version 7, and this program knows up to 1"), "{words}");
}

/// Writes an authority's certificate, and one of a server of these names, with its key.
fn make_certificates(folder: &Path, authority_file: &str, names: &[&str]) -> (String, String) {
    let mut authority = CertificateParams::new(Vec::new()).unwrap();
    authority.distinguished_name.push(DnType::CommonName, authority_file);
    authority.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    let key = KeyPair::generate().unwrap();
    fs::write(folder.join(authority_file), authority.self_signed(&key).unwrap().pem()).unwrap();
    let authority = Issuer::new(authority, key);
    let server = CertificateParams::new(names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>()).unwrap();
    let key = KeyPair::generate().unwrap();
    (server.signed_by(&key, &authority).unwrap().pem(), key.serialize_pem())
}

#[test]
fn an_encrypted_server_is_known_by_its_certificate() {
    let (server, place) = (Server::new(), Plant::new());
    load(&place, &baked(9));
    let (certificate, key) = make_certificates(&place.path(""), "plant-ca.pem", &["localhost"]);
    make_certificates(&place.path(""), "other-ca.pem", &["localhost"]);
    let named = format!("postgres://ovenward@localhost:{}/bakery", server.port);

    server.write_into(&place, &named, "ca_file = \"plant-ca.pem\"");
    assert!(refused(&place, 1).contains("answers and cannot be trusted: server does not support TLS"));
    server.stop();
    server.write("server.pem", &certificate);
    server.write("server.key", &key);
    let (pem, key) = (server.path("server.pem"), server.path("server.key"));
    server.set(&format!("ssl = on\nssl_cert_file = '{}'\nssl_key_file = '{}'\n", pem.display(), key.display()));
    // Nobody comes in unencrypted.
    let rules = "hostssl all all 127.0.0.1/32 scram-sha-256\n";
    server.write("cluster/pg_hba.conf", rules);
    server.start();

    server.write_into(&place, &named, "ca_file = \"other-ca.pem\"");
    assert!(refused(&place, 1).contains("its certificate was not signed by the authority in ca_file"));
    server.write_into(&place, &server.url(), "ca_file = \"plant-ca.pem\"");
    assert!(refused(&place, 1).contains("its certificate is made out to another name than the url has"));
    server.write_into(&place, &named, "");
    assert!(refused(&place, 1).contains("does not let ovenward in: no pg_hba.conf entry"));
    server.write_into(&place, &named, "ca_file = \"plant-ca.pem\"");
    let told = place.printed(&["sql", "push"]);
    assert!(told.contains("shift of tunnel-1: 4 rows of 1 shifts"), "{told}");
    let encrypted =
        "SELECT count(*) FROM pg_stat_ssl JOIN pg_stat_activity USING (pid) WHERE NOT ssl AND usename = 'ovenward'";
    assert_eq!(server.psql(encrypted), "0");
}

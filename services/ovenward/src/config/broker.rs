//! `[broker]`: where the plant's messages come from, and how their payloads are made.

use std::time::Duration;

use super::key::{Key, Number};
use super::payload::Payloads;
use super::section::Section;
use ::broker::{ConnectError, Connection, Secret};

const URL: Key = Key::required("url", "\"mqtt://127.0.0.1:1883\"");
const CLIENT_ID: Key = Key::optional("client_id", "\"ovenward-millbrook\"");
const USERNAME: Key = Key::optional("username", "\"ovenward\"");
const PASSWORD_FILE: Key = Key::optional("password_file", "\"broker-password\"");
const CA_FILE: Key = Key::optional("ca_file", "\"plant-ca.pem\"");
const CERT_FILE: Key = Key::optional("cert_file", "\"ovenward.pem\"");
const KEY_FILE: Key = Key::optional("key_file", "\"ovenward.key\"");
const SESSION_EXPIRY: Number = Number::optional("session_expiry_h", "168").within(1.0, 8760.0, "h");
const RECEIVE_MAXIMUM: Number = Number::optional("receive_maximum", "20000").within(1.0, 65_535.0, "messages");

const COUNT_DROPPED: Key = Key::optional("count_dropped", "true");

/// What `[broker]` says.
pub(super) struct Broker {
    /// `None` if it is wrong; what the signals say is checked all the same.
    pub(super) connection: Option<Connection>,
    pub(super) payloads: Payloads,
    /// Whether it is asked how many messages it has dropped.
    pub(super) count_dropped: bool,
}

pub(super) fn read(section: &Section<'_>, site: &str) -> Broker {
    let connection = read_connection(section, site);
    let payloads = Payloads::of_broker(section);
    let count_dropped = section.yes_or_no(&COUNT_DROPPED).unwrap_or(true);
    section.finish();
    Broker { connection, payloads, count_dropped }
}

fn read_connection(section: &Section<'_>, site: &str) -> Option<Connection> {
    let url = section.text(&URL);
    let client_id = section.text(&CLIENT_ID).map_or_else(|| format!("ovenward-{site}"), |id| id.into_inner());
    let username = section.text(&USERNAME).map(|name| name.into_inner());
    let password = section.file(&PASSWORD_FILE).map(|bytes| Secret::new(String::from_utf8_lossy(&bytes).trim_end()));
    let certificates = [&CA_FILE, &CERT_FILE, &KEY_FILE].map(|key| section.file(key));
    let session_expiry = section.number(&SESSION_EXPIRY).map(|hours| Duration::from_secs_f64(hours * 3600.0));
    let receive_maximum = section.count(&RECEIVE_MAXIMUM).and_then(|count| u16::try_from(count).ok());

    let refused = |error| refuse(section, &error);
    let usual = Connection::parse_url(url?.get_ref(), &client_id).map_err(refused).ok()?;
    let [ca_file, cert_file, key_file] = certificates;
    let connection = Connection {
        username,
        password,
        ca_file,
        cert_file,
        key_file,
        session_expiry: session_expiry.unwrap_or(usual.session_expiry),
        receive_maximum: receive_maximum.unwrap_or(usual.receive_maximum),
        ..usual
    };
    connection.check().map_err(refused).ok()?;
    Some(connection)
}

/// The rules of a connection are the broker crate's; here they get their place in the file.
fn refuse(section: &Section<'_>, error: &ConnectError) {
    let (key, message) = match error {
        ConnectError::Setting { setting, reason } => (*setting, format!("{setting}: {reason}")),
        ConnectError::Url { reason, .. } => (URL.name, format!("url: {reason}")),
        ConnectError::Tls { reason, .. } => (CA_FILE.name, reason.clone()),
        other => return section.fault(other.to_string(), URL.advice()),
    };
    let advice = match key {
        "password_file" => USERNAME.advice(),
        "ca_file" => CA_FILE.advice(),
        "client_id" => CLIENT_ID.advice(),
        _ => format!("{} or \"mqtts://broker.plant:8883\"", URL.advice()),
    };
    section.faults().add(section.at_key(key), message, advice);
}

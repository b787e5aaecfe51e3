//! Where the broker is and how we present ourselves to it.

use std::fmt;
use std::time::Duration;

use crate::ConnectError;
use crate::tls::CertificateEnd;
use crate::topic::LONGEST_STRING;

/// A text that must not appear in a log: it prints as `***`.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    /// Wraps the text.
    pub fn new(text: impl Into<String>) -> Self {
        Self(text.into())
    }

    /// The text itself, for the one place that sends it.
    pub(crate) fn reveal(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("***")
    }
}

/// Where the broker is and how we present ourselves to it. [`Connection::parse_url`] gives one with
/// working defaults; the rest are plain fields.
#[derive(Clone)]
pub struct Connection {
    /// Name or address of the broker; an IPv6 address stands in brackets.
    pub host: String,
    /// TCP port, 1 to 65535.
    pub port: u16,
    /// Whether the connection is encrypted (`mqtts://`).
    pub tls: bool,
    /// Our name at the broker. The session hangs on it: it must stay the same over restarts and
    /// must not be used by any other client.
    pub client_id: String,
    /// User name, where the broker asks for one.
    pub username: Option<String>,
    /// Password, where the broker asks for one.
    pub password: Option<Secret>,
    /// Certificate of the authority that signed the broker's certificate: the contents of the PEM
    /// file. Required with TLS: the machine's own list of authorities is not consulted, since a
    /// plant's broker is signed by the plant.
    pub ca_file: Option<Vec<u8>>,
    /// Our own certificate (PEM), where the broker asks for one.
    pub cert_file: Option<Vec<u8>>,
    /// The private key of `cert_file` (PEM).
    pub key_file: Option<Vec<u8>>,
    /// How long the broker keeps our session, and every message in it, while we are away. Whole
    /// seconds; up to 136 years. Default 7 days. MQTT 3.1.1 can't say it: there the broker decides.
    pub session_expiry: Duration,
    /// How many messages the broker may have sent without our acknowledgement, 1 to 65535.
    /// Default 20,000: with the 1,000 that mosquitto queues by default, a plant of 8,000 a second can
    /// wait for 2.6 s before the broker drops. MQTT 3.1.1 can't say it: there the broker's own limit holds.
    pub receive_maximum: u16,
    /// Longest silence before either side looks whether the other is still there: 5 s to 18 h.
    /// Default 15 s.
    pub keep_alive: Duration,
    /// Largest payload handed out, in bytes; a larger one is reported, acknowledged and dropped.
    /// Default 1 MiB; at most 16 MiB.
    pub largest_payload: usize,
}

impl Connection {
    /// Reads `mqtt://host[:port]` (port 1883) or `mqtts://host[:port]` (TLS, port 8883).
    ///
    /// # Errors
    /// [`ConnectError::Url`] or [`ConnectError::Setting`], saying what to write instead.
    pub fn parse_url(url: &str, client_id: &str) -> Result<Self, ConnectError> {
        let wrong = |reason: &str| ConnectError::Url { url: without_password(url), reason: reason.to_owned() };
        let (scheme, rest) = url.split_once("://").ok_or_else(|| wrong("it has no scheme"))?;
        let (tls, default_port) = match scheme {
            "mqtt" => (false, 1883),
            "mqtts" => (true, 8883),
            _ => return Err(wrong("the scheme is neither mqtt nor mqtts")),
        };
        let authority = rest.strip_suffix('/').unwrap_or(rest);
        if authority.contains('@') {
            return Err(wrong("user and password don't belong in it: use `username` and `password_file`"));
        }
        if authority.contains(['/', '?', '#']) {
            return Err(wrong("nothing may follow the port"));
        }
        let host_ends = authority.find(']').map_or(0, |bracket| bracket + 1);
        let (host, port) = match authority[host_ends..].rfind(':') {
            Some(colon) => {
                let port = authority[host_ends + colon + 1..].parse::<u16>();
                let port = port.ok().filter(|port| *port > 0);
                let port = port.ok_or_else(|| wrong("the port is not a number from 1 to 65535"))?;
                (&authority[..host_ends + colon], port)
            }
            None => (authority, default_port),
        };
        if host.is_empty() || host.contains(char::is_whitespace) {
            return Err(wrong("it names no host"));
        }
        if host.contains(':') && host_ends != host.len() {
            return Err(wrong("an IPv6 address stands in brackets, as in mqtt://[::1]:1883"));
        }
        let connection = Self {
            host: host.to_owned(),
            port,
            tls,
            client_id: client_id.to_owned(),
            username: None,
            password: None,
            ca_file: None,
            cert_file: None,
            key_file: None,
            session_expiry: Duration::from_secs(7 * 24 * 3600),
            receive_maximum: 20_000,
            keep_alive: Duration::from_secs(15),
            largest_payload: 1 << 20,
        };
        connection.check_client_id()?;
        Ok(connection)
    }

    /// Host and port, as errors name them.
    pub fn address(&self) -> String {
        format!("{}:{}", self.host, self.port)
    }

    /// Checks every setting that can be checked without the network.
    ///
    /// # Errors
    /// The first [`ConnectError::Setting`] or [`ConnectError::Tls`] found.
    pub fn check(&self) -> Result<(), ConnectError> {
        self.check_client_id()?;
        let keep_alive = self.keep_alive.as_secs();
        if !(5..=u64::from(u16::MAX)).contains(&keep_alive) {
            return wrong_setting("keep_alive", "must be 5 s to 65,535 s");
        }
        if self.receive_maximum == 0 {
            return wrong_setting("receive_maximum", "must be 1 to 65,535 messages");
        }
        if self.session_expiry.as_secs() > u64::from(u32::MAX) {
            return wrong_setting("session_expiry", "must be at most 4,294,967,295 s");
        }
        if self.largest_payload == 0 || self.largest_payload > crate::link::LARGEST_PACKET {
            return wrong_setting("largest_payload", "must be 1 byte to 16 MiB");
        }
        if self.password.is_some() && self.username.is_none() {
            return wrong_setting("password_file", "needs a `username` beside it");
        }
        if !self.tls && (self.ca_file.is_some() || self.cert_file.is_some() || self.key_file.is_some()) {
            return wrong_setting("url", "certificates are given, so write mqtts:// (or leave them out)");
        }
        crate::tls::encryption(self).map(drop)
    }

    /// When the certificates in `ca_file` and `cert_file` end.
    pub fn certificate_ends(&self) -> Vec<CertificateEnd> {
        crate::tls::own_ends(self)
    }

    fn check_client_id(&self) -> Result<(), ConnectError> {
        let id = &self.client_id;
        // "-out" and "-check" are added for the other clients.
        if id.is_empty() || id.len() > LONGEST_STRING - 8 || id.contains(char::is_control) {
            return wrong_setting(
                "client_id",
                "must be a name of at least one character, without control characters; the session hangs on it",
            );
        }
        Ok(())
    }
}

fn wrong_setting(setting: &'static str, reason: &str) -> Result<(), ConnectError> {
    Err(ConnectError::Setting { setting, reason: reason.to_owned() })
}

/// An error must not repeat a password that someone wrote into the URL.
fn without_password(url: &str) -> String {
    match (url.find("://"), url.rfind('@')) {
        (Some(scheme), Some(at)) if scheme + 3 <= at => format!("{}***{}", &url[..scheme + 3], &url[at..]),
        _ => url.to_owned(),
    }
}

impl fmt::Debug for Connection {
    /// Certificates are left out and the password is hidden: this may end in a log.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter
            .debug_struct("Connection")
            .field("address", &self.address())
            .field("tls", &self.tls)
            .field("client_id", &self.client_id)
            .field("username", &self.username)
            .field("password", &self.password)
            .field("session_expiry", &self.session_expiry)
            .field("receive_maximum", &self.receive_maximum)
            .field("keep_alive", &self.keep_alive)
            .field("largest_payload", &self.largest_payload)
            .finish_non_exhaustive()
    }
}

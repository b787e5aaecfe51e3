//! `[console]`: where the web console listens, and whether it speaks TLS.

use std::net::{Ipv4Addr, SocketAddr};

use web::{Certificate, TlsFiles};

use super::key::Key;
use super::section::Section;

const BIND: Key = Key::optional("bind", "\"127.0.0.1:8080\"");
const CERT_FILE: Key = Key::required("cert_file", "\"console.pem\"");
const KEY_FILE: Key = Key::required("key_file", "\"console.key\"");

/// Where the web console listens.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConsoleSettings {
    /// Address and port. Default 127.0.0.1:8080: this machine only.
    pub bind: SocketAddr,
    /// Certificate and key for TLS; plain HTTP without them.
    pub tls: Option<TlsFiles>,
}

impl ConsoleSettings {
    /// The address for a browser.
    #[must_use]
    pub fn url(&self) -> String {
        format!("{}://{}", if self.tls.is_some() { "https" } else { "http" }, self.bind)
    }
}

pub(super) fn read(section: &Section<'_>) -> ConsoleSettings {
    let bind = section.text(&BIND).and_then(|text| {
        let bind = text.get_ref().parse::<SocketAddr>().ok();
        if bind.is_none() {
            let message = format!("bind {:?} is not an address with a port", text.get_ref());
            let advice = format!("{}, or \"0.0.0.0:8080\" to listen to the whole network", BIND.advice());
            section.faults().add(text.span().start, message, advice);
        }
        bind
    });
    let tls = read_tls(&section.section("tls"));
    section.finish();
    ConsoleSettings { bind: bind.unwrap_or_else(|| SocketAddr::from((Ipv4Addr::LOCALHOST, 8080))), tls }
}

fn read_tls(section: &Section<'_>) -> Option<TlsFiles> {
    if !section.is_present() {
        return None;
    }
    let (cert_file, key_file) = (section.path(&CERT_FILE), section.path(&KEY_FILE));
    section.finish();
    let (cert_file, key_file) = (cert_file?, key_file?);
    let at = cert_file.span().start;
    let files = TlsFiles { cert_file: cert_file.into_inner(), key_file: key_file.into_inner() };
    if let Err(error) = Certificate::read(files.clone()) {
        let advice = format!("{} and {}, files in PEM that can be read", CERT_FILE.advice(), KEY_FILE.advice());
        section.faults().add(at, format!("the console cannot speak TLS: {error}"), advice);
    }
    Some(files)
}

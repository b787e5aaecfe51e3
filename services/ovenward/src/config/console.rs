//! `[console]`: where the web console listens.

use std::net::{Ipv4Addr, SocketAddr};

use super::key::Key;
use super::section::Section;

const BIND: Key = Key::optional("bind", "\"127.0.0.1:8080\"");

/// Where the web console listens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ConsoleSettings {
    /// Address and port. Default 127.0.0.1:8080: this machine only.
    pub bind: SocketAddr,
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
    section.finish();
    ConsoleSettings { bind: bind.unwrap_or_else(|| SocketAddr::from((Ipv4Addr::LOCALHOST, 8080))) }
}

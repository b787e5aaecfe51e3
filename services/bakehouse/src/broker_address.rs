//! Where the broker is.

use std::str::FromStr;

use anyhow::{Context, Error, ensure};

/// Address of an MQTT broker, written `mqtt://host:port`; the port is 1883 if none is given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BrokerAddress {
    /// Name or address of its host.
    pub host: String,
    /// TCP port.
    pub port: u16,
}

impl FromStr for BrokerAddress {
    type Err = Error;

    fn from_str(url: &str) -> Result<Self, Error> {
        let address =
            url.strip_prefix("mqtt://").with_context(|| format!("{url:?} is not like mqtt://127.0.0.1:1883"))?;
        let (host, port) = match address.trim_end_matches('/').rsplit_once(':') {
            Some((host, port)) => (host, port.parse().with_context(|| format!("{port:?} is not a port"))?),
            None => (address.trim_end_matches('/'), 1883),
        };
        ensure!(!host.is_empty(), "{url:?} names no host");
        Ok(Self { host: host.into(), port })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_url_gives_host_and_port() {
        let address = |url: &str| url.parse::<BrokerAddress>();
        let here = BrokerAddress { host: "127.0.0.1".into(), port: 2883 };
        assert_eq!(address("mqtt://127.0.0.1:2883").unwrap(), here);
        assert_eq!(address("mqtt://plant/").unwrap().port, 1883);
        for wrong in ["127.0.0.1:1883", "mqtts://plant", "mqtt://plant:x", "mqtt://:1883"] {
            assert!(address(wrong).is_err(), "{wrong}");
        }
    }
}

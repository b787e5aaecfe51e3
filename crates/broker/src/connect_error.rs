//! Why there is no connection, in words that help.

/// Why there is no connection to the broker. Each text says what to change.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ConnectError {
    /// The broker's URL can't be read.
    #[error("broker url `{url}`: {reason}; write for example mqtt://192.168.1.10:1883 or mqtts://broker.plant:8883")]
    Url {
        /// As it was given.
        url: String,
        /// What is wrong with it.
        reason: String,
    },
    /// A setting of [`Connection`](crate::Connection) is out of its range.
    #[error("broker {setting}: {reason}")]
    Setting {
        /// Its name, as in the config file.
        setting: &'static str,
        /// What is wrong and what is allowed.
        reason: String,
    },
    /// A topic to subscribe or publish to breaks the rules of MQTT.
    #[error("topic `{topic}`: {reason}")]
    Topic {
        /// As it was given.
        topic: String,
        /// What is wrong with it.
        reason: String,
    },
    /// Nothing answers at the address.
    #[error("no broker answers at {address}: {reason}")]
    Unreachable {
        /// Host and port.
        address: String,
        /// What the network said.
        reason: String,
    },
    /// The encrypted connection failed, mostly for a certificate.
    #[error("TLS with {address}: {reason}")]
    Tls {
        /// Host and port.
        address: String,
        /// What failed, and which file to look at.
        reason: String,
    },
    /// The broker answered, and said no.
    #[error("the broker at {address} refuses the connection: {reason}")]
    Refused {
        /// Host and port.
        address: String,
        /// What the broker said.
        reason: String,
    },
    /// The connection ended.
    #[error("the connection to {address} ended: {reason}")]
    Ended {
        /// Host and port.
        address: String,
        /// Who ended it, and why, as far as is known.
        reason: String,
    },
}

//! How the service stands with the broker.

use reading::Timestamp;

/// The intake's connection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum BrokerLink {
    /// The broker answers.
    Connected {
        /// In which version of MQTT.
        protocol: String,
        /// Since when.
        since: Timestamp,
    },
    /// It does not.
    Disconnected {
        /// Why, and what to do about it.
        reason: String,
        /// Since when.
        since: Timestamp,
    },
}

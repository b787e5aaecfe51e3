//! How the service stands with the broker.

/// The intake's connection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum BrokerLink {
    /// The broker answers.
    Connected {
        /// In which version of MQTT.
        protocol: String,
    },
    /// It does not.
    Disconnected {
        /// Why, and what to do about it.
        reason: String,
    },
}

//! The topics that the service writes: all of them under its own root.

use reading::Timestamp;
use serde_json::json;
use store::OutboxMessage;

/// Names the topics of one site.
#[derive(Debug, Clone)]
pub(crate) struct Topics {
    base: String,
}

impl Topics {
    /// The topics under `root/site/`.
    #[must_use]
    pub(crate) fn new(root: &str, site: &str) -> Self {
        Self { base: format!("{root}/{site}") }
    }

    /// Whether the service is there; the last will as well.
    #[must_use]
    pub(crate) fn status(&self) -> String {
        format!("{}/status", self.base)
    }

    /// How loaded a line is.
    #[must_use]
    pub(crate) fn load(&self, line: &str) -> String {
        format!("{}/{line}/load", self.base)
    }

    /// A standing alert.
    #[must_use]
    pub(crate) fn alert(&self, line: &str, id: &str) -> String {
        format!("{}/{line}/alert/{id}", self.base)
    }

    /// Each change of an alert's state.
    #[must_use]
    pub(crate) fn alert_log(&self, line: &str) -> String {
        format!("{}/{line}/alert-log", self.base)
    }

    /// The table of the last shift of this name.
    #[must_use]
    pub(crate) fn shift(&self, line: &str, name: &str) -> String {
        format!("{}/{line}/shift/{name}", self.base)
    }

    /// The energy record of the last finished shift.
    #[must_use]
    pub(crate) fn energy_shift(&self, line: &str) -> String {
        format!("{}/{line}/energy/shift", self.base)
    }

    /// The last rate change whose day is over, with what came of it.
    #[must_use]
    pub(crate) fn rate_change(&self, line: &str) -> String {
        format!("{}/{line}/rate-change", self.base)
    }
}

/// What `status` says; `problems` keep the service from its whole work, a sentence each.
#[must_use]
pub(crate) fn status_payload(online: bool, since: Timestamp, problems: &[String]) -> Vec<u8> {
    let (state, version) = (if online { "online" } else { "offline" }, env!("CARGO_PKG_VERSION"));
    json!({ "state": state, "version": version, "since": since, "problems": problems }).to_string().into_bytes()
}

/// A message that the broker keeps for whoever subscribes later.
#[must_use]
pub(crate) fn retained(topic: String, payload: Vec<u8>) -> OutboxMessage {
    OutboxMessage { topic, payload, retain: true }
}

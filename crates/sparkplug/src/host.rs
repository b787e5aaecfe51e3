//! What a host application says: that it is there, and "send your birth again". Nothing else is ever said here.

use prost::Message;

use crate::topic::{NAMESPACE, NodeName};
use crate::wire::{Metric, Payload, Value};

/// The datatype of yes and no (Sparkplug 3.0, 6.4.16).
const BOOLEAN: u32 = 11;

/// Where a host tells whether it is there: retained, QoS 1, and the last will of its connection.
#[must_use]
pub fn state_topic(host: &str) -> String {
    format!("{NAMESPACE}/STATE/{host}")
}

/// What it tells there. The time, ms since 1970 (UTC), is that of the connection, the same in the last will: a will that
/// arrives late is known by it (Sparkplug 3.0, 6.4.27).
#[must_use]
pub fn state_payload(online: bool, connected_ms: i64) -> Vec<u8> {
    format!("{{\"online\":{online},\"timestamp\":{connected_ms}}}").into_bytes()
}

/// Whether a state says that its host is not there.
#[must_use]
pub fn says_offline(payload: &[u8]) -> bool {
    let state: Option<serde_json::Value> = serde_json::from_slice(payload).ok();
    state.is_some_and(|state| state["online"] == serde_json::Value::Bool(false))
}

/// Where a node takes commands.
#[must_use]
pub fn command_topic(node: &NodeName) -> String {
    format!("{NAMESPACE}/{}/NCMD/{}", node.group, node.node)
}

/// Asks a node for its birth and those of its devices: QoS 0, not retained (Sparkplug 3.0, 6.4.25).
#[must_use]
pub fn rebirth_request(now_ms: i64) -> Vec<u8> {
    let timestamp = u64::try_from(now_ms).ok();
    let rebirth = Metric {
        name: Some("Node Control/Rebirth".into()),
        timestamp,
        datatype: Some(BOOLEAN),
        value: Some(Value::Boolean(true)),
        ..Metric::default()
    };
    Payload { timestamp, metrics: vec![rebirth], seq: None }.encode_to_vec()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_state_tells_whether_its_host_is_there() {
        assert_eq!(state_payload(true, 1_800_000_000_000), br#"{"online":true,"timestamp":1800000000000}"#);
        assert!(says_offline(&state_payload(false, 0)));
        assert!(!says_offline(&state_payload(true, 0)));
        for other in ["OFFLINE", "{\"timestamp\":1}", "{\"online\":\"no\"}"] {
            assert!(!says_offline(other.as_bytes()), "{other} says nothing of the kind");
        }
    }

    #[test]
    fn the_only_command_asks_for_a_birth() {
        let payload = Payload::decode(rebirth_request(1_800_000_000_000).as_slice()).unwrap();
        assert_eq!(payload.metrics[0].name.as_deref(), Some("Node Control/Rebirth"));
        assert_eq!(payload.metrics[0].value, Some(Value::Boolean(true)));
    }
}

//! Topics: `spBv1.0/GROUP/KIND/NODE` or `spBv1.0/GROUP/KIND/NODE/DEVICE` (Sparkplug 3.0, 4.1).

use std::fmt;

use serde::{Deserialize, Serialize};

/// The first level of every topic.
pub const NAMESPACE: &str = "spBv1.0";

/// An edge node: a gateway or a controller that speaks Sparkplug.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct NodeName {
    /// Its group.
    pub group: String,
    /// Its own name within the group.
    pub node: String,
}

impl fmt::Display for NodeName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.group, self.node)
    }
}

/// What a message is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MessageKind {
    /// A node or device tells its metrics, with their present values.
    Birth,
    /// New values.
    Data,
    /// A node or device is gone.
    Death,
}

impl MessageKind {
    const ALL: [Self; 3] = [Self::Birth, Self::Data, Self::Death];

    fn name(self) -> &'static str {
        match self {
            Self::Birth => "BIRTH",
            Self::Data => "DATA",
            Self::Death => "DEATH",
        }
    }
}

/// A topic on which an edge node speaks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Topic<'a> {
    /// Its first two levels after the namespace and the kind.
    pub node: NodeName,
    /// The device behind the node; `None` where the node speaks of itself.
    pub device: Option<&'a str>,
    /// What the message is.
    pub kind: MessageKind,
}

impl<'a> Topic<'a> {
    /// Reads a topic; `None` for one that is not an edge node's (commands and the state of hosts are not).
    #[must_use]
    pub fn parse(topic: &'a str) -> Option<Self> {
        let mut levels = topic.split('/');
        let (namespace, group, kind, node) = (levels.next()?, levels.next()?, levels.next()?, levels.next()?);
        let device = levels.next();
        let letter = if device.is_some() { 'D' } else { 'N' };
        let kind = kind.strip_prefix(letter)?;
        let kind = MessageKind::ALL.into_iter().find(|known| known.name() == kind)?;
        let named = [group, node].into_iter().chain(device).all(|level| !level.is_empty());
        let whole = namespace == NAMESPACE && levels.next().is_none() && named;
        whole.then(|| Self { node: NodeName { group: group.into(), node: node.into() }, device, kind })
    }
}

/// Splits what a config calls a source, `GROUP/NODE` or `GROUP/NODE/DEVICE`; `None` for anything else.
#[must_use]
pub fn parse_source(source: &str) -> Option<(NodeName, Option<&str>)> {
    let levels: Vec<&str> = source.split('/').collect();
    let (group, node, device) = match levels[..] {
        [group, node] => (group, node, None),
        [group, node, device] => (group, node, Some(device)),
        _ => return None,
    };
    let allowed = |level: &str| !level.is_empty() && !level.contains(['+', '#']);
    let all = allowed(group) && group != NAMESPACE && allowed(node) && device.is_none_or(allowed);
    all.then(|| (NodeName { group: group.into(), node: node.into() }, device))
}

impl NodeName {
    /// What a client subscribes to, to hear all of this node: sequence numbers run over the node and all its devices.
    #[must_use]
    pub fn filters(&self) -> Vec<String> {
        let Self { group, node } = self;
        let of = |kind: MessageKind| {
            let kind = kind.name();
            [format!("{NAMESPACE}/{group}/N{kind}/{node}"), format!("{NAMESPACE}/{group}/D{kind}/{node}/+")]
        };
        MessageKind::ALL.into_iter().flat_map(of).collect()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_topic_names_node_device_and_kind() {
        let topic = Topic::parse("spBv1.0/Millbrook/DDATA/gateway-1/tunnel-1").unwrap();
        assert_eq!((topic.node.to_string().as_str(), topic.device), ("Millbrook/gateway-1", Some("tunnel-1")));
        assert_eq!(topic.kind, MessageKind::Data);
        let topic = Topic::parse("spBv1.0/Millbrook/NDEATH/gateway-1").unwrap();
        assert_eq!((topic.device, topic.kind), (None, MessageKind::Death));
    }

    #[test]
    fn what_no_edge_node_says_is_none() {
        for other in [
            "spBv1.0/Millbrook/NCMD/gateway-1",
            "spBv1.0/STATE/host",
            "spBv1.0/Millbrook/DDATA/gateway-1",
            "spBv1.0/Millbrook/NDATA/gateway-1/tunnel-1",
            "spBv1.0/Millbrook/NDATA/gateway-1/",
            "spBv1.0/Millbrook/DDATA/gateway-1/a/b",
            "spAv1.0/Millbrook/NDATA/gateway-1",
            "mill/tunnel-1/band",
        ] {
            assert_eq!(Topic::parse(other), None, "{other}");
        }
    }

    #[test]
    fn a_source_is_two_or_three_levels() {
        let (node, device) = parse_source("Millbrook/gateway-1/tunnel-1").unwrap();
        assert_eq!((node.group.as_str(), node.node.as_str(), device), ("Millbrook", "gateway-1", Some("tunnel-1")));
        assert_eq!(parse_source("Millbrook/gateway-1").unwrap().1, None);
        for wrong in ["Millbrook", "a//b", "a/b/c/d", "a/+", "spBv1.0/Millbrook/gateway-1"] {
            assert_eq!(parse_source(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn every_filter_is_of_a_topic_that_is_read() {
        let node = NodeName { group: "Millbrook".into(), node: "gateway-1".into() };
        let filters = node.filters();
        assert_eq!(filters.len(), 6);
        for filter in filters {
            assert_eq!(Topic::parse(&filter.replace('+', "tunnel-1")).unwrap().node, node, "{filter}");
        }
    }
}

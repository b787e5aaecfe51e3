//! Every configured edge node.

use std::collections::BTreeMap;

use reading::payload::{Reason, Rejection};
use reading::{PayloadFormat, Reading, SignalMap, Span, Timestamp};

use crate::node::{Configured, Node, decode};
use crate::sequence::LostMessages;
use crate::topic::{NAMESPACE, NodeName, Topic, parse_source};

/// Where the notes of this crate begin. Behind it comes what the note holds, and the node.
const NOTES: &str = "sparkplug/";
const BIRTHS: &str = "births/";
const HEARD: &str = "heard/";

/// Messages of a node that were lost on their way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lost {
    /// Whose.
    pub node: NodeName,
    /// When and how many.
    pub messages: LostMessages,
}

/// The edge nodes of the config, and what was heard of them.
#[derive(Debug)]
pub struct Nodes {
    nodes: BTreeMap<NodeName, Node>,
    patience: Span,
}

impl Nodes {
    /// The beginning of the keys of all [notes](Self::take_notes).
    pub const NOTES: &str = NOTES;

    /// The nodes that the signals speak of. A message that has been missing for longer than `patience` is lost.
    #[must_use]
    pub fn new(signals: &SignalMap, patience: Span) -> Self {
        let mut nodes: BTreeMap<NodeName, Node> = BTreeMap::new();
        for (id, signal) in signals.iter() {
            let PayloadFormat::Sparkplug { metric } = &signal.payload else { continue };
            let Some((name, device)) = parse_source(&signal.topic) else { continue };
            nodes.entry(name).or_default().configured.push(Configured {
                signal: id,
                device: device.unwrap_or_default().into(),
                metric: metric.clone(),
                is_text: signal.quantity.is_text(),
            });
        }
        Self { nodes, patience }
    }

    /// Goes on from a note. One of a node that the config no longer has is passed over.
    ///
    /// # Errors
    /// It is not one that this version wrote; the node is as unknown as before.
    pub fn restore(&mut self, key: &str, json: &str) -> Result<(), serde_json::Error> {
        let key = key.strip_prefix(NOTES).unwrap_or(key);
        for (name, node) in &mut self.nodes {
            let is_of = |what| key.strip_prefix(what).is_some_and(|of| of == name.to_string());
            if is_of(BIRTHS) {
                node.births = serde_json::from_str(json)?;
            } else if is_of(HEARD) {
                node.heard = serde_json::from_str(json)?;
            }
        }
        Ok(())
    }

    /// What has changed since this was last asked, to be stored with the readings that came of the same messages.
    pub fn take_notes(&mut self) -> Vec<(String, String)> {
        let mut notes = Vec::new();
        for (name, node) in &mut self.nodes {
            let changed =
                std::mem::take(&mut node.births_changed).then(|| (BIRTHS, serde_json::to_string(&node.births)));
            let heard = std::mem::take(&mut node.heard_changed).then(|| (HEARD, serde_json::to_string(&node.heard)));
            let written = [changed, heard].into_iter().flatten();
            // Maps with keys that are texts and numbers, and numbers: they always have a JSON.
            notes.extend(written.filter_map(|(what, json)| Some((format!("{NOTES}{what}{name}"), json.ok()?))));
        }
        notes
    }

    /// Every node.
    pub fn names(&self) -> impl Iterator<Item = &NodeName> {
        self.nodes.keys()
    }

    /// What to subscribe to.
    #[must_use]
    pub fn filters(&self) -> Vec<String> {
        self.nodes.keys().flat_map(NodeName::filters).collect()
    }

    /// Reads a message: one result for each configured metric in it, and one for all that cannot be named. `None` for a
    /// topic that is not of Sparkplug.
    pub fn receive(
        &mut self,
        signals: &SignalMap,
        topic: &str,
        payload: &[u8],
        received: Timestamp,
    ) -> Option<Vec<Result<Reading, Rejection>>> {
        let parsed = parse(topic)?;
        let found = parsed.as_ref().and_then(|topic| Some((self.nodes.get_mut(&topic.node)?, topic)));
        Some(match found {
            Some((node, parsed)) => node.take(signals, parsed, payload, received),
            None => unknown(topic),
        })
    }

    /// Reads a message that was kept because it could not be read when it came: by the births of now, if it is not older
    /// than they are. Nothing that is known of the nodes changes.
    #[must_use]
    pub fn read_again(
        &self,
        signals: &SignalMap,
        topic: &str,
        payload: &[u8],
        received: Timestamp,
    ) -> Option<Vec<Result<Reading, Rejection>>> {
        let parsed = parse(topic)?;
        let found = parsed.as_ref().and_then(|topic| Some((self.nodes.get(&topic.node)?, topic)));
        Some(match (found, decode(payload)) {
            (None, _) => unknown(topic),
            (_, Err(rejection)) => vec![Err(rejection)],
            (Some((node, parsed)), Ok(payload)) => node.readings(signals, parsed, &payload, false, received),
        })
    }

    /// The broker has lost what it kept for us: births and deaths may have been among it. Gives what ends by that.
    pub fn session_lost(&mut self) -> Vec<Reading> {
        self.nodes.values_mut().flat_map(Node::forget).collect()
    }

    /// Gives up what has been missing for too long.
    pub fn give_up(&mut self, now: Timestamp) -> Vec<Lost> {
        let patience = self.patience;
        let lost = |(name, node): (&NodeName, &mut Node)| {
            Some(Lost { node: name.clone(), messages: node.give_up(now, patience)? })
        };
        self.nodes.iter_mut().filter_map(lost).collect()
    }

    /// The nodes that should be asked for their births: they have none, their messages cannot be named, or a birth may
    /// have been lost.
    pub fn to_be_asked(&self) -> impl Iterator<Item = &NodeName> {
        let asks = |node: &Node| node.doubtful || !node.unnamed.is_empty() || node.births.of.is_empty();
        self.nodes.iter().filter(move |(_, node)| asks(node)).map(|(name, _)| name)
    }

    /// The nodes and devices whose metrics cannot be named for want of a birth.
    #[must_use]
    pub fn unnamed(&self) -> Vec<String> {
        let of_node = |(name, node): (&NodeName, &Node)| {
            let source =
                |device: &String| if device.is_empty() { name.to_string() } else { format!("{name}/{device}") };
            node.unnamed.iter().map(source).collect::<Vec<_>>()
        };
        self.nodes.iter().flat_map(of_node).collect()
    }
}

/// `None` for a topic that is not of Sparkplug, `Some(None)` for one on which no edge node speaks.
fn parse(topic: &str) -> Option<Option<Topic<'_>>> {
    let below = topic.strip_prefix(NAMESPACE)?;
    below.starts_with('/').then(|| Topic::parse(topic))
}

fn unknown(topic: &str) -> Vec<Result<Reading, Rejection>> {
    let detail = format!("no signal is configured for the edge node of {topic}");
    vec![Err(Rejection { reason: Reason::UnknownTopic, detail })]
}

#[cfg(test)]
mod tests;

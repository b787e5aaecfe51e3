//! One edge node: its births, its sequence, and what its messages mean by them.

use std::collections::BTreeSet;

use prost::Message;
use reading::payload::{self, FUTURE_ALLOWANCE, Reason, Rejection};
use reading::{Reading, SignalId, SignalMap, Span, Timestamp, Value};
use serde::{Deserialize, Serialize};

use crate::birth::{Birth, Births, bd_seq};
use crate::sequence::{LostMessages, Place, Sequence};
use crate::topic::{MessageKind, Topic};
use crate::value::{self, Said};
use crate::wire::{Metric, Payload};

/// Right behind a moment: behind its millisecond, since notes keep no more of a time, and at a time that no reading has,
/// since Sparkplug counts milliseconds.
const INSTANT: Span = Span(1001);

/// A configured metric of a node or of one of its devices.
#[derive(Debug, Clone)]
pub(crate) struct Configured {
    pub(crate) signal: SignalId,
    /// Empty for the node's own.
    pub(crate) device: String,
    pub(crate) metric: String,
    pub(crate) is_text: bool,
}

/// What is known of a node beside its births; changes with every message.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct HeardOf {
    pub(crate) sequence: Sequence,
    /// The latest time that a message or a metric of the node has borne.
    pub(crate) newest: Timestamp,
}

#[derive(Debug, Default)]
pub(crate) struct Node {
    pub(crate) configured: Vec<Configured>,
    pub(crate) births: Births,
    pub(crate) heard: HeardOf,
    /// Devices (empty for the node itself) that sent what no birth in force names.
    pub(crate) unnamed: BTreeSet<String>,
    /// Messages were lost, and a birth may have been among them.
    pub(crate) doubtful: bool,
    pub(crate) births_changed: bool,
    pub(crate) heard_changed: bool,
}

type Results = Vec<Result<Reading, Rejection>>;

impl Node {
    /// Takes a message of this node.
    pub(crate) fn take(&mut self, map: &SignalMap, topic: &Topic, bytes: &[u8], received: Timestamp) -> Results {
        let payload = match decode(bytes) {
            Ok(payload) => payload,
            Err(rejection) => return vec![Err(rejection)],
        };
        self.heard_changed = true;
        let device = topic.device.unwrap_or_default();
        let results = match (topic.kind, topic.device) {
            (MessageKind::Death, None) => return self.node_death(&payload),
            (MessageKind::Birth, None) => self.node_birth(map, topic, &payload, received),
            (kind, _) => {
                let place = self.place(&payload, received);
                match kind {
                    MessageKind::Birth => {
                        self.births.of.insert(device.into(), Birth::of(&payload.metrics, sent(&payload, received)));
                        (self.births_changed, _) = (true, self.unnamed.remove(device));
                        self.readings(map, topic, &payload, true, received)
                    }
                    MessageKind::Data => {
                        let in_sequence = place == Some(Place::Next);
                        let results = self.readings(map, topic, &payload, in_sequence, received);
                        if results.iter().any(|result| result.as_ref().is_err_and(is_unnamed)) {
                            self.unnamed.insert(device.into());
                        }
                        results
                    }
                    MessageKind::Death => self.end(Some(device)),
                }
            }
        };
        let told = results.iter().flatten().map(|reading| reading.time).max();
        self.heard.newest = self.heard.newest.max(told.unwrap_or_default()).max(sent(&payload, received));
        results
    }

    fn node_birth(&mut self, map: &SignalMap, topic: &Topic, payload: &Payload, received: Timestamp) -> Results {
        let session = bd_seq(&payload.metrics);
        // Of another session: the death of the one before was lost.
        let mut results = if session == self.births.bd_seq { Results::new() } else { self.end(None) };
        let own = Birth::of(&payload.metrics, sent(payload, received));
        self.births = Births { bd_seq: session, of: [(String::new(), own)].into() };
        self.births_changed = true;
        self.heard.sequence.begin(number(payload).unwrap_or_default(), received);
        (self.doubtful, _) = (false, self.unnamed.clear());
        results.extend(self.readings(map, topic, payload, true, received));
        results
    }

    fn node_death(&mut self, payload: &Payload) -> Results {
        let session = bd_seq(&payload.metrics);
        let is_of_another = session.is_some() && self.births.bd_seq.is_some() && session != self.births.bd_seq;
        // The last will of a session that a newer one has replaced.
        if is_of_another {
            return Results::new();
        }
        // Who is gone sends nothing that wants a name.
        (self.doubtful, _) = (false, self.unnamed.clear());
        self.end(None)
    }

    /// Ends what a device says, or the node and all its devices.
    pub(crate) fn end(&mut self, device: Option<&str>) -> Results {
        let at = self.heard.newest + INSTANT;
        let is_ending = |configured: &&Configured| {
            let birth = self.births.of.get(&configured.device);
            device.is_none_or(|device| device == configured.device)
                && birth.is_some_and(|birth| birth.has(&configured.metric))
        };
        let ending = self.configured.iter().filter(is_ending);
        let without = |it: &Configured| Ok(Reading::without_value(it.signal, it.is_text, at));
        let results = ending.map(without).collect();
        self.births_changed = true;
        match device {
            Some(device) => _ = self.births.of.remove(device),
            None => self.births = Births::default(),
        }
        results
    }

    /// Forgets the births and the sequence: what came meanwhile is not known.
    pub(crate) fn forget(&mut self) -> Vec<Reading> {
        let ended = self.end(None).into_iter().flatten().collect();
        (self.heard.sequence, self.heard_changed) = (Sequence::default(), true);
        ended
    }

    /// What has been missing for too long.
    pub(crate) fn give_up(&mut self, now: Timestamp, patience: Span) -> Option<LostMessages> {
        let lost = self.heard.sequence.give_up(now, patience)?;
        (self.doubtful, self.heard_changed) = (true, true);
        Some(lost)
    }

    fn place(&mut self, payload: &Payload, received: Timestamp) -> Option<Place> {
        let place = self.heard.sequence.take(number(payload)?, received);
        self.doubtful |= place == Place::Stray;
        Some(place)
    }

    /// The readings of a message, by the births in force; one result for all metrics that these do not name.
    pub(crate) fn readings(
        &self,
        map: &SignalMap,
        topic: &Topic,
        payload: &Payload,
        in_sequence: bool,
        received: Timestamp,
    ) -> Results {
        let device = topic.device.unwrap_or_default();
        let source = topic.device.map_or_else(|| topic.node.to_string(), |device| format!("{}/{device}", topic.node));
        // Out of sequence and older than the birth: its aliases may be those of the birth before.
        let birth = self.births.of.get(device).filter(|birth| in_sequence || sent(payload, received) >= birth.sent);
        let (mut results, mut unnamed) = (Results::new(), Vec::new());
        for metric in &payload.metrics {
            let name = metric.name.as_deref().filter(|name| !name.is_empty());
            let name = name.or_else(|| birth?.name(metric.alias?));
            let Some(name) = name else {
                unnamed.push(metric.alias);
                continue;
            };
            let Some(signal) = map.of_metric(&source, name) else { continue };
            let result = reading(map, signal, name, birth, metric, payload, received);
            let still = result.as_ref().ok().filter(|_| topic.kind == MessageKind::Birth).cloned();
            results.push(result);
            results.extend(still.and_then(|reading| still_holds(reading, metric, sent(payload, received))).map(Ok));
        }
        if !unnamed.is_empty() {
            results.push(Err(rejection_of_unnamed(&source, birth.is_some(), &unnamed)));
        }
        results
    }
}

/// A birth tells what holds when it is sent, with the time at which that was measured, which may be long ago: it is told
/// twice, or a death in between would have ended it for good.
fn still_holds(reading: Reading, metric: &Metric, sent: Timestamp) -> Option<Reading> {
    let is_old = reading.time < sent && metric.is_historical != Some(true);
    is_old.then_some(Reading { time: sent, ..reading })
}

/// Reads a payload.
pub(crate) fn decode(bytes: &[u8]) -> Result<Payload, Rejection> {
    Payload::decode(bytes).map_err(|error| Rejection {
        reason: Reason::Unreadable,
        detail: format!("{} bytes that are no Sparkplug B payload: {error}", bytes.len()),
    })
}

fn number(payload: &Payload) -> Option<u8> {
    payload.seq.and_then(|number| u8::try_from(number).ok())
}

/// When a message was sent; when it was received, if it does not say, or says what cannot be.
fn sent(payload: &Payload, received: Timestamp) -> Timestamp {
    let told = payload.timestamp.and_then(time);
    told.filter(|sent| *sent <= received + FUTURE_ALLOWANCE).unwrap_or(received)
}

fn time(milliseconds: u64) -> Option<Timestamp> {
    i64::try_from(milliseconds).ok()?.checked_mul(1000).map(Timestamp)
}

fn is_unnamed(rejection: &Rejection) -> bool {
    matches!(rejection.reason, Reason::NoBirth | Reason::UnknownAlias)
}

fn rejection_of_unnamed(source: &str, has_birth: bool, aliases: &[Option<u64>]) -> Rejection {
    let shown: Vec<String> = aliases.iter().flatten().take(5).map(u64::to_string).collect();
    let (count, shown) = (aliases.len(), shown.join(", "));
    let (reason, why) = match has_birth {
        true => (Reason::UnknownAlias, "its birth does not have them"),
        false => (Reason::NoBirth, "no birth in force was heard"),
    };
    Rejection { reason, detail: format!("{count} metrics of {source} say only their aliases ({shown}), and {why}") }
}

fn reading(
    map: &SignalMap,
    id: SignalId,
    name: &str,
    birth: Option<&Birth>,
    metric: &Metric,
    payload: &Payload,
    received: Timestamp,
) -> Result<Reading, Rejection> {
    let signal = map.get(id);
    let reject = |reason, detail| Rejection { reason, detail };
    let told = metric.timestamp.or(payload.timestamp);
    let time = match told {
        Some(milliseconds) => time(milliseconds)
            .ok_or_else(|| reject(Reason::UnreadableTime, format!("{milliseconds} ms since 1970 is no time")))?,
        None if metric.is_historical == Some(true) => {
            return Err(reject(Reason::UnreadableTime, format!("{name:?} tells the past without a time")));
        }
        None => received,
    };
    let datatype = Birth::datatype(birth, name, metric.datatype);
    let said = value::of(metric, datatype).map_err(|why| reject(Reason::Unreadable, format!("{name:?}: {why}")))?;
    let is_text = signal.quantity.is_text();
    let value = match said {
        Said::Nothing => {
            return payload::check(signal, Reading::without_value(id, is_text, time), received);
        }
        Said::Number(number) if is_text => Value::Text(number.to_string().into()),
        Said::Number(number) => Value::Number(number),
        Said::Text(text) => payload::value_from_text(signal, &text)?,
    };
    payload::check(signal, Reading { signal: id, time, value, quality: value::quality(metric) }, received)
}

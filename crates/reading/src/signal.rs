//! Which MQTT topic carries what: the signal map.

use std::collections::HashMap;
use std::sync::Arc;

use crate::quantity::Quantity;
use crate::time::Span;
use crate::unit::Unit;

/// A signal's place in the [`SignalMap`]; valid only with the map it came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SignalId(pub u32);

/// A line's place in the plant's list of lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct LineIndex(pub usize);

/// How a payload is to be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PayloadFormat {
    /// The payload is the value in text; its time is the time of receipt.
    Number,
    /// The payload is a JSON object; value, time and quality stand at JSON pointers (RFC 6901).
    Json {
        /// Where the value stands.
        value: String,
        /// Where the time stands; without one, or if absent in a message, the time of receipt.
        time: Option<String>,
        /// Where the quality stands.
        quality: Option<String>,
    },
    /// The value is a metric of a Sparkplug B edge node or device; the topic names that as `GROUP/NODE` or
    /// `GROUP/NODE/DEVICE`. The crate `sparkplug` reads it.
    Sparkplug {
        /// The metric's name, as in the birth.
        metric: String,
    },
}

impl PayloadFormat {
    /// Whether it is a metric of Sparkplug B.
    #[must_use]
    pub fn is_sparkplug(&self) -> bool {
        matches!(self, Self::Sparkplug { .. })
    }
}

/// One measured value of the plant.
#[derive(Debug, Clone)]
pub struct Signal {
    /// Its name in the store and in files: the topic, `topic#pointer` where several signals share a topic, or
    /// `topic#metric`.
    pub tag: Arc<str>,
    /// The MQTT topic, without wildcards.
    pub topic: String,
    /// The line it belongs to.
    pub line: LineIndex,
    /// Its zone, counted from 1 in the direction of travel; `None` for the whole line.
    pub zone: Option<usize>,
    /// What it measures.
    pub quantity: Quantity,
    /// The unit the plant sends.
    pub unit: Unit,
    /// How to read the payload.
    pub payload: PayloadFormat,
    /// `value = raw * scale + offset`, in `unit`.
    pub scale: f64,
    /// See `scale`.
    pub offset: f64,
    /// Lowest and highest believable value, in `unit`, after `scale` and `offset`.
    pub min: Option<f64>,
    /// See `min`.
    pub max: Option<f64>,
    /// How long a value stands for the present one; after that it is missing.
    pub max_age: Span,
}

/// A number stands for the present value for this long where the config says nothing else.
const USUAL_AGE: Span = Span::minutes(5);
/// A text is sent when it changes: it stands until the next.
const WITHOUT_END: Span = Span(i64::MAX);

impl Signal {
    /// A signal of which nothing but the topic is stated: the payload is the value in the quantity's
    /// first unit, and every value is believed.
    #[must_use]
    pub fn of_topic(topic: &str, line: LineIndex, zone: Option<usize>, quantity: Quantity) -> Self {
        Self {
            tag: topic.into(),
            topic: topic.to_owned(),
            line,
            zone,
            quantity,
            unit: quantity.units()[0],
            payload: PayloadFormat::Number,
            scale: 1.0,
            offset: 0.0,
            min: None,
            max: None,
            max_age: if quantity.is_text() { WITHOUT_END } else { USUAL_AGE },
        }
    }

    /// A stored value in the unit used for calculation.
    #[must_use]
    pub fn to_base(&self, raw: f64) -> f64 {
        self.unit.to_base(raw * self.scale + self.offset)
    }
}

/// Every signal of the plant, found by topic, by tag and by line.
#[derive(Debug, Clone, Default)]
pub struct SignalMap {
    signals: Vec<Signal>,
    by_topic: HashMap<String, Vec<SignalId>>,
    by_tag: HashMap<Arc<str>, SignalId>,
}

impl SignalMap {
    /// Builds the map. Of two signals with one tag the later one is not found by its tag: the
    /// config refuses such a plant.
    #[must_use]
    pub fn new(signals: Vec<Signal>) -> Self {
        let mut map = Self::default();
        for (index, signal) in signals.iter().enumerate() {
            let id = SignalId(index as u32);
            if !signal.payload.is_sparkplug() {
                map.by_topic.entry(signal.topic.clone()).or_default().push(id);
            }
            map.by_tag.entry(signal.tag.clone()).or_insert(id);
        }
        map.signals = signals;
        map
    }

    /// The signal with this id.
    #[must_use]
    pub fn get(&self, id: SignalId) -> &Signal {
        &self.signals[id.0 as usize]
    }

    /// The signals that a topic carries; empty for a topic nobody configured.
    #[must_use]
    pub fn of_topic(&self, topic: &str) -> &[SignalId] {
        self.by_topic.get(topic).map_or(&[], Vec::as_slice)
    }

    /// The signal with this tag.
    #[must_use]
    pub fn of_tag(&self, tag: &str) -> Option<SignalId> {
        self.by_tag.get(tag).copied()
    }

    /// The signal of a Sparkplug metric; `None` for one nobody configured.
    #[must_use]
    pub fn of_metric(&self, source: &str, metric: &str) -> Option<SignalId> {
        self.of_tag(&format!("{source}#{metric}")).filter(|id| self.get(*id).payload.is_sparkplug())
    }

    /// Every signal with its id, in the order of the config.
    pub fn iter(&self) -> impl Iterator<Item = (SignalId, &Signal)> {
        self.signals.iter().enumerate().map(|(index, signal)| (SignalId(index as u32), signal))
    }

    /// The signals of one line.
    pub fn of_line(&self, line: LineIndex) -> impl Iterator<Item = (SignalId, &Signal)> {
        self.iter().filter(move |(_, signal)| signal.line == line)
    }

    /// Every topic to subscribe to, once each, sorted; without those of Sparkplug, which are not made of one signal each.
    #[must_use]
    pub fn topics(&self) -> Vec<String> {
        let mut topics: Vec<String> = self.by_topic.keys().cloned().collect();
        topics.sort_unstable();
        topics
    }

    /// How many signals there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.signals.len()
    }

    /// Whether there is no signal at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.signals.is_empty()
    }
}

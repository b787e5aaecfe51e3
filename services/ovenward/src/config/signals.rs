//! `[line.signals]` and `[line.zone.signals]`: what is measured, and the tags it is stored under.

use std::collections::HashMap;

use reading::{PayloadFormat, Quantity, Signal};
use toml::de::DeValue;

use super::fault::FaultList;
use super::payload::Payloads;
use super::section::{Section, Value};
use super::signal::{self, Placed};
use super::topic::Place;

/// Quantities that say the same thing: of each group a line or zone has one at most.
const ALTERNATIVES: [&[Quantity]; 2] =
    [&[Quantity::DewPoint, Quantity::Moisture, Quantity::HumidityRatio], &[Quantity::BandSpeed, Quantity::BakeTime]];

/// The signals of a line or of a zone.
#[derive(Default)]
pub(super) struct Signals {
    pub(super) placed: Vec<Placed>,
    /// What the config means to measure; more than `placed`, if a signal is wrong.
    pub(super) stated: Vec<Quantity>,
}

impl Signals {
    pub(super) fn extend(&mut self, other: Self) {
        self.placed.extend(other.placed);
        self.stated.extend(other.stated);
    }
}

/// Reads the signals of a line or of a zone.
///
/// A quantity that is not there is taken from the defaults, unless one that says the same is there.
/// `steam_flow = false` says that this line has none, whatever the defaults say.
pub(super) fn read(section: &Section<'_>, place: Place<'_>, payloads: &Payloads) -> Signals {
    let is_here = |quantity: Quantity| quantity.of_zone() == place.zone.is_some();
    let mut signals = Signals::default();
    for &quantity in Quantity::ALL.iter().filter(|quantity| is_here(**quantity)) {
        let is_own = |other: &Quantity| section.own(other.name()).is_some_and(|value| !is_none(value));
        let is_replaced = alternatives(quantity).iter().any(is_own);
        // The defaults are asked in either case: a key that every line replaces is still a known one.
        let (own, own_or_default) = (section.own(quantity.name()), section.value(quantity.name()));
        let value = if is_replaced { own } else { own_or_default };
        if let Some(value) = value.filter(|value| !is_none(value)) {
            signals.stated.push(quantity);
            signals.placed.extend(signal::read(section, quantity, value, place, payloads));
        }
    }
    for &quantity in Quantity::ALL.iter().filter(|quantity| !is_here(**quantity)) {
        refuse_misplaced(section, quantity);
    }
    refuse_alternatives(section, &signals.stated);
    signals.stated.extend(section.finish().into_iter().filter_map(Quantity::from_name));
    signals
}

fn is_none(value: &Value<'_>) -> bool {
    matches!(value.get_ref(), DeValue::Boolean(false))
}

fn alternatives(quantity: Quantity) -> &'static [Quantity] {
    ALTERNATIVES.into_iter().find(|group| group.contains(&quantity)).unwrap_or_default()
}

fn refuse_misplaced(section: &Section<'_>, quantity: Quantity) {
    if section.has_stray(quantity.name()) {
        let (owner, other, right) = match quantity.of_zone() {
            true => ("a zone", "the whole line", "[line.zone.signals]"),
            false => ("the whole line", "a zone", "[line.signals]"),
        };
        let message = format!("{} belongs to {owner}, not to {other}", quantity.name());
        section.faults().add(section.at_key(quantity.name()), message, format!("{} below {right}", quantity.name()));
    }
}

fn refuse_alternatives(section: &Section<'_>, stated: &[Quantity]) {
    for group in ALTERNATIVES {
        let mut of_group = stated.iter().filter(|found| group.contains(found));
        let Some(first) = of_group.next() else { continue };
        for second in of_group {
            let message = format!("{} and {} say the same thing", first.name(), second.name());
            section.faults().add(section.at_key(second.name()), message, "one of them");
        }
    }
}

/// Gives every signal its tag, and notes signals that read the same value. Where signals share a
/// topic the pointer tells them apart; alone on its topic a signal keeps the plain name. A Sparkplug metric
/// always has its name in the tag: it never is alone.
pub(super) fn with_tags(mut placed: Vec<Placed>, faults: &FaultList<'_>) -> Vec<Signal> {
    let mut on_topic: HashMap<String, usize> = HashMap::new();
    for Placed { signal, .. } in &placed {
        *on_topic.entry(signal.topic.clone()).or_default() += 1;
    }
    for Placed { signal, .. } in &mut placed {
        match (on_topic.get(&signal.topic), &signal.payload) {
            (Some(2..), PayloadFormat::Json { value, .. }) => signal.tag = format!("{}#{value}", signal.topic).into(),
            (_, PayloadFormat::Sparkplug { metric }) => signal.tag = format!("{}#{metric}", signal.topic).into(),
            _ => {}
        }
    }
    let mut seen = HashMap::new();
    let mut reported = Vec::new();
    for Placed { signal, at } in &placed {
        let first = seen.entry(signal.tag.clone()).or_insert(signal);
        // One line of defaults makes many signals: it is one fault, not one for each of them.
        if !std::ptr::eq(*first, signal) && !reported.contains(at) {
            reported.push(*at);
            let message = format!("{} and {} read the same value: {}", describe(first), describe(signal), signal.tag);
            let advice = "a topic of its own for each, with {line} and {zone} where they differ";
            faults.add(*at, message, advice);
        }
    }
    placed.into_iter().map(|placed| placed.signal).collect()
}

fn describe(signal: &Signal) -> String {
    let (quantity, line) = (signal.quantity.name(), signal.line.0 + 1);
    match signal.zone {
        Some(zone) => format!("{quantity} of line {line}, zone {zone}"),
        None => format!("{quantity} of line {line}"),
    }
}

//! One signal: `dew_point = { topic = "mill/{line}/z{zone}/dew", unit = "degC" }`.

use reading::unit::Unit;
use reading::{PayloadFormat, Quantity, Signal, Span};
use toml::Spanned;
use toml::de::DeValue;

use super::key::{Key, Number};
use super::limits;
use super::nearest::nearest;
use super::payload::{METRIC, Payloads};
use super::section::{Section, Value};
use super::topic::{self, Place};

const TOPIC: Key = Key::required("topic", "\"mill/{line}/band\"");
const UNIT: Key = Key::optional("unit", "\"m/min\"");
const SCALE: Number = Number::optional("scale", "0.1");
const OFFSET: Number = Number::optional("offset", "-40");
const MIN: Number = Number::optional("min", "0");
const MAX: Number = Number::optional("max", "100");
const MAX_AGE: Number = Number::optional("max_age_s", "300").within(1.0, 1e8, "s");

/// An edge node says what has changed, and when it is gone: its values stand longer than others. No longer than detection
/// reads back when it begins (`stored::LEAD`), or a replay would know less than the day.
const AGE_OF_CHANGES: Span = Span::minutes(120);

/// A signal, and where it stands in the file.
#[derive(Clone)]
pub(super) struct Placed {
    pub(super) signal: Signal,
    pub(super) at: usize,
}

/// Reads one signal of a line or zone. A text alone is its topic.
pub(super) fn read<'a>(
    around: &Section<'a>,
    quantity: Quantity,
    value: &'a Value<'a>,
    place: Place<'_>,
    payloads: &Payloads,
) -> Option<Placed> {
    let at = value.span().start;
    match value.get_ref() {
        DeValue::String(text) => {
            let topic = topic::expand(around, &TOPIC, &Spanned::new(value.span(), text.to_string()), place)?;
            let Some(payload) = payloads.format() else {
                let message =
                    format!("the signal {} has no metric, but its payload is of Sparkplug B", quantity.name());
                let advice = format!("{} = {{ topic = {text:?}, {} }}", quantity.name(), METRIC.advice());
                around.faults().add(at, message, advice);
                return None;
            };
            Some(Placed { signal: usual(quantity, *quantity.units().first()?, topic, place, payload), at })
        }
        DeValue::Table(table) => {
            let section = Section::of_value(format!("the signal {}", quantity.name()), at, table, around.faults());
            read_table(&section, quantity, place, payloads).map(|signal| Placed { signal, at })
        }
        _ => {
            let message = format!("{} must be a topic, or a signal in braces", quantity.name());
            around.faults().add(at, message, format!("{} = {{ {} }}", quantity.name(), TOPIC.advice()));
            None
        }
    }
}

/// A table of keys; everything it says is checked even when the topic is wrong.
fn read_table(section: &Section<'_>, quantity: Quantity, place: Place<'_>, payloads: &Payloads) -> Option<Signal> {
    let topic = section.text(&TOPIC).and_then(|topic| topic::expand(section, &TOPIC, &topic, place));
    let unit = read_unit(section, quantity);
    let payload = payloads.of_signal(section, place);
    let scale = section.number(&SCALE);
    let offset = section.number(&OFFSET);
    let (min, max) = (section.number(&MIN), section.number(&MAX));
    let max_age = section.number(&MAX_AGE).map(|seconds| Span((seconds * 1e6).round() as i64));
    section.finish();
    if scale == Some(0.0) {
        section.faults().add(section.at_key(SCALE.key.name), "scale = 0 makes every value the same", SCALE.advice());
    }

    let (topic, payload) = topic.zip(payload)?;
    if payload.is_sparkplug() {
        topic::check_source(section, &TOPIC, &topic)?;
    }
    let usual = usual(quantity, unit?, topic, place, payload);
    let signal = Signal {
        scale: scale.unwrap_or(usual.scale),
        offset: offset.unwrap_or(usual.offset),
        min: min.or(usual.min),
        max: max.or(usual.max),
        max_age: max_age.unwrap_or(usual.max_age),
        ..usual
    };
    check_limits(section, &signal);
    Some(signal)
}

/// A signal of which only topic and unit are stated.
fn usual(quantity: Quantity, unit: Unit, topic: String, place: Place<'_>, payload: PayloadFormat) -> Signal {
    let limits = limits::believable(quantity, unit);
    let plain = Signal::of_topic(&topic, place.index, place.zone, quantity);
    let reports_changes = payload.is_sparkplug() && !quantity.is_text();
    Signal {
        unit,
        payload,
        min: limits.map(|(min, _)| min),
        max: limits.map(|(_, max)| max),
        max_age: if reports_changes { AGE_OF_CHANGES } else { plain.max_age },
        ..plain
    }
}

fn read_unit(section: &Section<'_>, quantity: Quantity) -> Option<Unit> {
    let Some(text) = section.text(&UNIT) else { return quantity.units().first().copied() };
    let name = text.get_ref().as_str();
    let unit = quantity.unit(name);
    if unit.is_none() {
        let units = || quantity.units().iter().map(|unit| unit.name);
        let advice = match (nearest(name, units()), quantity.units()) {
            (Some(near), _) => format!("unit = {near:?}"),
            (None, [only]) => format!("unit = {:?}", only.name),
            (None, _) => {
                let all: Vec<String> = units().map(|unit| format!("{unit:?}")).collect();
                format!("unit = one of {}", all.join(", "))
            }
        };
        let message = format!("{name:?} is not a unit of {}", quantity.name());
        section.faults().add(text.span().start, message, advice);
    }
    unit
}

fn check_limits(section: &Section<'_>, signal: &Signal) {
    let quantity = signal.quantity.name();
    if signal.quantity.is_text() {
        for key in [&SCALE, &OFFSET, &MIN, &MAX].map(|number| number.key.name) {
            if section.value(key).is_some() {
                let message = format!("{quantity} is a text: it has no {key}");
                section.faults().add(section.at_key(key), message, "the signal without it");
            }
        }
    } else if let (Some(min), Some(max)) = (signal.min, signal.max)
        && min >= max
    {
        let states = |number: &Number| section.value(number.key.name).is_some();
        let (key, advice) = match (states(&MIN), states(&MAX)) {
            (true, true) => (MIN.key.name, format!("min = {max}, max = {min}")),
            (true, false) => (MIN.key.name, format!("min below {max}, or max as well")),
            (false, _) => (MAX.key.name, format!("max above {min}, or min as well")),
        };
        let message = format!("min {min} is not below max {max} for {quantity} ({})", signal.unit.name);
        section.faults().add(section.at_key(key), message, advice);
    }
}

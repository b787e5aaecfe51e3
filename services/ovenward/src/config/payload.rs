//! How a payload is read: `payload`, and the JSON pointers or the Sparkplug metric that belong to it.

use reading::PayloadFormat;

use super::key::{Choice, Key};
use super::section::Section;
use super::topic::{self, Place};

const PAYLOAD: Choice<Kind> = Choice {
    key: Key::optional("payload", "\"number\""),
    words: &[("number", Kind::Number), ("json", Kind::Json), ("sparkplug", Kind::Sparkplug)],
};
const VALUE: Key = Key::optional("value", "\"/value\"");
const TIME: Key = Key::optional("time", "\"/time\"");
const QUALITY: Key = Key::optional("quality", "\"/quality\"");
pub(super) const METRIC: Key = Key::optional("metric", "\"NAME\"");

/// The words of `payload`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Number,
    Json,
    Sparkplug,
}

/// How payloads are made, unless a signal says otherwise.
#[derive(Debug, Clone)]
pub(super) struct Payloads {
    kind: Kind,
    /// Where a JSON payload has its value, time and quality.
    pointers: [String; 3],
}

impl Default for Payloads {
    fn default() -> Self {
        Self { kind: Kind::Number, pointers: ["/value", "/time", "/quality"].map(str::to_owned) }
    }
}

impl Payloads {
    /// The format of a signal of which nothing but the topic is stated; `None` for Sparkplug, where that is not enough.
    pub(super) fn format(&self) -> Option<PayloadFormat> {
        let [value, time, quality] = self.pointers.clone();
        match self.kind {
            Kind::Number => Some(PayloadFormat::Number),
            Kind::Json => Some(PayloadFormat::Json { value, time: Some(time), quality: Some(quality) }),
            Kind::Sparkplug => None,
        }
    }

    /// What the broker's section says. Its pointers serve the signals that have JSON payloads, even
    /// if most have not.
    pub(super) fn of_broker(section: &Section<'_>) -> Self {
        let usual = Self::default();
        let pointers = section.section("json");
        let read = Self { kind: read_kind(section).unwrap_or(usual.kind), pointers: read_pointers(&pointers, &usual) };
        pointers.finish();
        read
    }

    /// The format of one signal; `None` if its metric is wrong.
    pub(super) fn of_signal(&self, section: &Section<'_>, place: Place<'_>) -> Option<PayloadFormat> {
        let own = Self { kind: read_kind(section).unwrap_or(self.kind), pointers: read_pointers(section, self) };
        let stated = [VALUE, TIME, QUALITY].into_iter().find(|key| section.value(key.name).is_some());
        if let Some(key) = stated
            && own.kind != Kind::Json
        {
            let payload = if own.kind == Kind::Number { "a number" } else { "of Sparkplug B" };
            let message = format!("{} is a JSON pointer, but the payload is {payload}", key.name);
            section.faults().add(section.at_key(key.name), message, "payload = \"json\" beside it");
        }
        let metric = section.text(&METRIC);
        match (own.kind, metric) {
            (Kind::Sparkplug, Some(metric)) => {
                let metric = topic::fill(section, &METRIC, &metric, place)?;
                Some(PayloadFormat::Sparkplug { metric })
            }
            (Kind::Sparkplug, None) => {
                if section.value(METRIC.name).is_none() {
                    section.fault(
                        format!("{} has no metric, but its payload is of Sparkplug B", section.name()),
                        METRIC.advice(),
                    );
                }
                None
            }
            (_, Some(metric)) => {
                let message = "metric is a name in Sparkplug B, but the payload is of another kind";
                section.faults().add(metric.span().start, message, "payload = \"sparkplug\" beside it");
                None
            }
            (_, None) => own.format(),
        }
    }
}

fn read_kind(section: &Section<'_>) -> Option<Kind> {
    section.choice(&PAYLOAD).map(|kind| kind.into_inner())
}

fn read_pointers(section: &Section<'_>, usual: &Payloads) -> [String; 3] {
    let mut pointers = usual.pointers.clone();
    for (pointer, key) in pointers.iter_mut().zip([&VALUE, &TIME, &QUALITY]) {
        if let Some(stated) = read_pointer(section, key) {
            *pointer = stated;
        }
    }
    pointers
}

/// A JSON pointer (RFC 6901): `/` before each name, and `~` only in `~0` and `~1`.
fn read_pointer(section: &Section<'_>, key: &Key) -> Option<String> {
    let text = section.text(key)?;
    let pointer = text.get_ref().as_str();
    let escapes_well = pointer.split('~').skip(1).all(|rest| rest.starts_with(['0', '1']));
    if pointer.starts_with('/') && escapes_well {
        return Some(pointer.to_owned());
    }
    let meant = match escapes_well {
        true => format!("/{}", pointer.trim_start_matches(['$', '.']).replace('.', "/")),
        false => pointer.replace('~', "~0"),
    };
    let advice = format!("{} = {meant:?}", key.name);
    section.faults().add(text.span().start, format!("{} {pointer:?} is not a JSON pointer", key.name), advice);
    None
}

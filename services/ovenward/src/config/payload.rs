//! How a payload is read: `payload`, and the JSON pointers that belong to it.

use reading::PayloadFormat;
use toml::Spanned;

use super::key::{Choice, Key};
use super::section::Section;

const VALUE: Key = Key::optional("value", "\"/value\"");
const TIME: Key = Key::optional("time", "\"/time\"");
const QUALITY: Key = Key::optional("quality", "\"/quality\"");

/// The words of `payload`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PayloadKind {
    Number,
    Json,
    Sparkplug,
}

/// The key `payload`, of the broker and of a signal.
pub(super) const fn choice() -> Choice<PayloadKind> {
    Choice {
        key: Key::optional("payload", "\"number\""),
        words: &[("number", PayloadKind::Number), ("json", PayloadKind::Json), ("sparkplug", PayloadKind::Sparkplug)],
    }
}

/// The format of the payloads that `section` is about; `pointers` is where the JSON pointers stand.
/// Without a word of its own it is `inherited`.
pub(super) fn read(section: &Section<'_>, pointers: &Section<'_>, inherited: &PayloadFormat) -> PayloadFormat {
    let chosen: Option<Spanned<PayloadKind>> = section.choice(&choice());
    let stated = [VALUE, TIME, QUALITY].into_iter().find(|key| pointers.value(key.name).is_some());
    let (value, time, quality) = (pointer(pointers, &VALUE), pointer(pointers, &TIME), pointer(pointers, &QUALITY));
    let kind = chosen.as_ref().map(|chosen| *chosen.get_ref());
    if kind == Some(PayloadKind::Sparkplug) {
        let at = chosen.map_or(section.at(), |chosen| chosen.span().start);
        let message = "payload = \"sparkplug\" is not supported yet";
        section.faults().add(at, message, "payload = \"number\" or payload = \"json\"");
    }
    let is_json = match kind {
        Some(kind) => kind == PayloadKind::Json,
        None => matches!(inherited, PayloadFormat::Json { .. }),
    };
    if let (Some(key), false) = (stated, is_json) {
        let message = format!("{} is a JSON pointer, but the payload is a number", key.name);
        section.faults().add(pointers.at_key(key.name), message, "payload = \"json\" beside it");
    }
    if !is_json {
        return PayloadFormat::Number;
    }
    let (by_value, by_time, by_quality) = match inherited {
        PayloadFormat::Json { value, time, quality } => (value.clone(), time.clone(), quality.clone()),
        PayloadFormat::Number => ("/value".to_owned(), Some("/time".to_owned()), Some("/quality".to_owned())),
    };
    PayloadFormat::Json { value: value.unwrap_or(by_value), time: time.or(by_time), quality: quality.or(by_quality) }
}

/// A JSON pointer (RFC 6901): the whole document, or `/` before each name; `~` stands only in `~0` and `~1`.
fn pointer(section: &Section<'_>, key: &Key) -> Option<String> {
    let text = section.text(key)?;
    let pointer = text.get_ref().clone();
    let escapes_right = pointer.split('~').skip(1).all(|rest| rest.starts_with(['0', '1']));
    if pointer.starts_with('/') && escapes_right {
        return Some(pointer);
    }
    let meant =
        if escapes_right { format!("/{}", pointer.trim_start_matches(['$', '.'])) } else { pointer.replace('~', "~0") };
    let advice = format!("{} = {:?}", key.name, meant.replace('.', "/"));
    section.faults().add(text.span().start, format!("{} {pointer:?} is not a JSON pointer", key.name), advice);
    None
}

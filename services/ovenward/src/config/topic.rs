//! Topics as the config writes them: no wildcards, and `{line}` and `{zone}` replaced.

use reading::LineIndex;
use toml::Spanned;

use super::key::Key;
use super::section::Section;

/// Longest topic of MQTT, in bytes.
const LONGEST: usize = 65_535;

/// Where a signal belongs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place<'a> {
    /// The id of its line.
    pub(super) line: &'a str,
    pub(super) index: LineIndex,
    /// Counted from 1; `None` for a signal of the whole line.
    pub(super) zone: Option<usize>,
}

/// Notes what MQTT forbids in a topic that is written to or listened to by name.
pub(super) fn check(section: &Section<'_>, key: &Key, topic: &Spanned<String>) -> bool {
    let text = topic.get_ref().as_str();
    let without_empty_levels = || {
        let levels: Vec<&str> = text.split('/').filter(|level| !level.is_empty()).collect();
        format!("{} = {:?}", key.name, levels.join("/"))
    };
    let (message, advice) = if text.contains(['+', '#']) {
        ("has a wildcard: + and # stand for many topics", key.advice())
    } else if text.starts_with('/') || text.ends_with('/') || text.contains("//") {
        ("has an empty level", without_empty_levels())
    } else if text.starts_with('$') {
        ("begins with $, which belongs to the broker", key.advice())
    } else if text.contains(char::is_control) || text.len() > LONGEST {
        ("is not a topic of MQTT", key.advice())
    } else {
        return true;
    };
    section.faults().add(topic.span().start, format!("{} {text:?} {message}", key.name), advice);
    false
}

/// The topic of one signal, with `{line}` and `{zone}` replaced.
pub(super) fn expand(section: &Section<'_>, key: &Key, topic: &Spanned<String>, place: Place<'_>) -> Option<String> {
    if !check(section, key, topic) {
        return None;
    }
    let mut expanded = String::new();
    let mut rest = topic.get_ref().as_str();
    let fault = |message: &str, advice: &str| {
        section.faults().add(topic.span().start, format!("topic {:?} {message}", topic.get_ref()), advice);
    };
    while let Some((before, after)) = rest.split_once('{') {
        let Some((name, after)) = after.split_once('}') else {
            fault("has a { without its }", "{line} or {zone}");
            return None;
        };
        expanded.push_str(before);
        match (name, place.zone) {
            ("line", _) => expanded.push_str(place.line),
            ("zone", Some(zone)) => expanded.push_str(&zone.to_string()),
            ("zone", None) => {
                fault("has {zone}, but the signal belongs to the whole line", "the topic without {zone}");
                return None;
            }
            _ => {
                fault(&format!("has {{{name}}}, which stands for nothing"), "{line} or {zone}");
                return None;
            }
        }
        rest = after;
    }
    expanded.push_str(rest);
    Some(expanded)
}

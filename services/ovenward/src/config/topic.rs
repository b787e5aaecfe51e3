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
    if check(section, key, topic) { fill(section, key, topic, place) } else { None }
}

/// A text with `{line}` and `{zone}` replaced.
pub(super) fn fill(section: &Section<'_>, key: &Key, text: &Spanned<String>, place: Place<'_>) -> Option<String> {
    let mut expanded = String::new();
    let mut rest = text.get_ref().as_str();
    let fault = |message: &str, advice: &str| {
        section.faults().add(text.span().start, format!("{} {:?} {message}", key.name, text.get_ref()), advice);
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
                let advice = format!("the {} without {{zone}}", key.name);
                fault("has {zone}, but the signal belongs to the whole line", &advice);
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

/// Notes a topic that names neither an edge node nor a device of Sparkplug B.
pub(super) fn check_source(section: &Section<'_>, key: &Key, source: &str) -> Option<()> {
    if ::sparkplug::topic::parse_source(source).is_some() {
        return Some(());
    }
    let meant = ::sparkplug::Topic::parse(source).map(|topic| match topic.device {
        Some(device) => format!("{}/{device}", topic.node),
        None => topic.node.to_string(),
    });
    let advice = format!("{} = {:?}", key.name, meant.as_deref().unwrap_or("GROUP/NODE/DEVICE"));
    let message = format!("{} {source:?} names no edge node (GROUP/NODE) and no device (GROUP/NODE/DEVICE)", key.name);
    section.faults().add(section.at_key(key.name), message, advice);
    None
}

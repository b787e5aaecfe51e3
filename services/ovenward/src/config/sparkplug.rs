//! `[sparkplug]`: whether edge nodes are only listened to, or the service is their host application.

use reading::{SignalMap, Span};

use super::key::{Choice, Key, Number};
use super::section::Section;

const MODE: Choice<Mode> =
    Choice { key: Key::optional("mode", "\"passive\""), words: &[("passive", Mode::Passive), ("host", Mode::Host)] };
const HOST_ID: Key = Key::optional("host_id", "\"ovenward-millbrook\"");
const REORDER: Number = Number::optional("reorder_s", "2").within(0.0, 60.0, "s");

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mode {
    Passive,
    Host,
}

/// How Sparkplug B edge nodes are dealt with.
#[derive(Debug, Clone, PartialEq)]
pub struct SparkplugSettings {
    /// Our name as a host application; `None` where the service only listens, the default.
    pub host: Option<String>,
    /// A message that is missing from the sequence for longer than this is lost. Default 2 s.
    pub reorder: Span,
}

pub(super) fn read(section: &Section<'_>, site: &str) -> SparkplugSettings {
    let mode = section.choice(&MODE).map_or(Mode::Passive, |mode| mode.into_inner());
    let host_id = section.text(&HOST_ID);
    let reorder = section.number(&REORDER).unwrap_or(2.0);
    section.finish();
    if let Some(id) = &host_id {
        let text = id.get_ref().as_str();
        if text.contains(['/', '+', '#']) {
            let message = format!("host_id {text:?} is not one level of a topic: it has no /, + or #");
            section.faults().add(id.span().start, message, HOST_ID.advice());
        } else if mode == Mode::Passive {
            let message = "host_id is the name of a host application, but the service only listens";
            section.faults().add(id.span().start, message, "mode = \"host\" beside it, or no host_id");
        }
    }
    let host_id = host_id.map_or_else(|| format!("ovenward-{site}"), |id| id.into_inner());
    SparkplugSettings { host: (mode == Mode::Host).then_some(host_id), reorder: Span((reorder * 1e6).round() as i64) }
}

/// A host application without edge nodes is a slip of the pen.
pub(super) fn refuse_idle_host(section: &Section<'_>, settings: &SparkplugSettings, signals: &SignalMap) {
    if settings.host.is_some() && !signals.iter().any(|(_, signal)| signal.payload.is_sparkplug()) {
        let message = "mode = \"host\", but no signal has payload = \"sparkplug\"";
        section.faults().add(
            section.at_key(MODE.key.name),
            message,
            "payload = \"sparkplug\" in [broker] or in a signal",
        );
    }
}

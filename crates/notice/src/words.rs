//! Alerts in plain words.

use alert::{Alert, AlertState, Finding, Priority, ZoneFigures};
use reading::{Plant, Timestamp};

use crate::channel::Notice;
use crate::event::Event;

/// What is wrong, as the end of a sentence that begins with the line.
pub(crate) fn finding(finding: Finding) -> &'static str {
    match finding {
        Finding::Carryover => "overloaded, moisture is carried into the late zones",
        Finding::SteamShort => "too little steam for the load",
        Finding::OverVented => "more exhaust than the load needs",
        Finding::NoResponse => "the zones do not answer to the higher speed",
        Finding::Damper => "a damper stands otherwise than usual",
        Finding::Steam => "the steam has changed",
        Finding::Temperature => "the temperature of a zone has changed",
        Finding::Unexplained => "not as it usually runs",
        Finding::SteamWithoutProduct => "steam is on without product",
        Finding::SteamTooLong => "product is under steam for too long",
        Finding::Silent => "a signal is silent",
        Finding::Stuck => "a signal is stuck",
        Finding::OutOfRange => "a signal is out of range",
        Finding::Impossible => "a signal shows what cannot be",
        Finding::Zone3Limit => "zone 3 is over its limit",
    }
}

pub(crate) fn priority(priority: Priority) -> &'static str {
    match priority {
        Priority::High => "high",
        Priority::Medium => "medium",
    }
}

/// What people call a line; its id, should it have left the config.
pub(crate) fn line<'a>(plant: &'a Plant, id: &'a str) -> &'a str {
    plant.line(id).map_or(id, |(_, line)| &line.name)
}

/// The subject of a mail: "Tunnel oven 1: too little steam for the load (high)".
pub(crate) fn subject(notice: &Notice, plant: &Plant) -> String {
    let alert = &notice.alert;
    let line = line(plant, &alert.line);
    let stage = match notice.event {
        Event::Raised => String::new(),
        Event::Answered => format!("{}: ", answered(alert)),
        Event::Ended => "ended: ".into(),
    };
    format!("{line}: {stage}{} ({})", finding(alert.finding), priority(alert.priority))
}

/// Who has answered, in three words.
fn answered(alert: &Alert) -> String {
    let by = |name: &Option<String>| name.as_ref().map(|name| format!(" by {name}")).unwrap_or_default();
    match (alert.state, &alert.answer.suppression) {
        (AlertState::Shelved, Some(shelf)) => format!("shelved by {}", shelf.by),
        (AlertState::OutOfService, Some(out)) => format!("out of service by {}", out.by),
        _ => format!("acknowledged{}", by(&alert.answer.acknowledged_by)),
    }
}

/// Where the alert stands, in a sentence.
pub(crate) fn standing(notice: &Notice, plant: &Plant) -> String {
    let alert = &notice.alert;
    let clock = |time: Timestamp| plant.shifts.wall_clock(time);
    let answer = &alert.answer;
    match (notice.event, alert.ended) {
        (Event::Raised, _) => "Nobody has answered it yet.".into(),
        (Event::Answered, _) => {
            let when = answer.acknowledged_at.map(|at| format!(" at {}", clock(at)));
            let shelf = answer.suppression.as_ref();
            let until = shelf.and_then(|shelf| shelf.until).map(|until| format!(" until {}", clock(until)));
            let why = shelf
                .map(|shelf| format!(": {}", shelf.reason))
                .or_else(|| answer.comments.last().map(|comment| format!("; {} says: {}", comment.by, comment.text)));
            let details = [when, until, why].into_iter().flatten().collect::<String>();
            format!("It stands, {}{details}.", answered(alert))
        }
        (Event::Ended, ended) => {
            let when = ended.map(|at| format!(" since {}", clock(at))).unwrap_or_default();
            let who = match alert.state {
                AlertState::ReturnedUnacknowledged => "nobody has answered it".to_owned(),
                AlertState::ReturnedSuppressed => "it was set aside".to_owned(),
                _ => answered(alert),
            };
            format!("It is over{when}; {who}.")
        }
    }
}

/// What the readings of a zone mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Side {
    Within,
    /// By so much, % vol.
    Above(f64),
    Below(f64),
}

impl Side {
    /// Where a zone lies against what is expected of it; against the limit alone where there is no band.
    pub(crate) fn of(zone: &ZoneFigures) -> Self {
        let (low, high) = (zone.low.unwrap_or(f64::MIN), zone.high.unwrap_or(zone.expected));
        if zone.observed > high {
            Self::Above(zone.observed - zone.expected)
        } else if zone.observed < low {
            Self::Below(zone.expected - zone.observed)
        } else {
            Self::Within
        }
    }

    /// In words and with a sign, so that it does not hang on a colour.
    pub(crate) fn text(self) -> String {
        match self {
            Self::Within => "as expected".into(),
            Self::Above(by) => format!("\u{25b2} {by:.1} above"),
            Self::Below(by) => format!("\u{25bc} {by:.1} below"),
        }
    }
}

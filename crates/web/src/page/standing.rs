//! How an oven stands, in one word.

use chrono::TimeDelta;

use crate::page::alert::Alert;
use crate::page::clock::Clock;
use crate::page::figure;
use crate::page::shape::Shape;
use crate::status::LineStatus;

/// After so long without a reading nobody knows what lies in the oven.
const SILENT_AFTER: TimeDelta = TimeDelta::minutes(5);

/// How an oven stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Standing {
    /// It has not been heard of for too long.
    Silent,
    /// Moisture stays in it.
    Overloaded,
    /// Moisture stays in it, and somebody sees to it.
    Answered,
    /// Moisture stays in it, and somebody wants to hear no more of it for now.
    KeptQuiet,
    /// An alert calls that is not about overload.
    Alerted,
    /// The band runs faster, and the zones have not yet said whether they follow.
    Rising,
    /// Nothing speaks against it.
    Normal,
    /// It bakes and nobody can say how it does.
    Unjudged,
    /// It does not bake.
    Idle,
}

impl Standing {
    /// How a line stands. A load that rests on old readings is worth nothing, so silence comes first.
    pub(crate) fn of(line: &LineStatus, alerts: &[Alert], clock: &Clock) -> Self {
        let silent =
            line.newest.as_deref().is_none_or(|newest| clock.age(newest).is_some_and(|age| age > SILENT_AFTER));
        match line.load.as_str() {
            _ if silent => Self::Silent,
            "overloaded" => Self::of_overload(alerts.iter().filter(|alert| alert.line == line.id)),
            _ if alerts.iter().any(|alert| alert.line == line.id && !alert.is_quiet()) => Self::Alerted,
            "rising" => Self::Rising,
            "normal" => Self::Normal,
            _ if line.state == "baking" => Self::Unjudged,
            _ => Self::Idle,
        }
    }

    /// How an overloaded line stands, by its loudest alert; without any, nobody can have answered.
    fn of_overload<'a>(alerts: impl Iterator<Item = &'a Alert>) -> Self {
        let about_it: Vec<&Alert> = alerts.filter(|alert| alert.means_overload()).collect();
        if about_it.iter().all(|alert| alert.is_quiet()) && !about_it.is_empty() {
            Self::KeptQuiet
        } else if about_it.iter().any(|alert| alert.is_acknowledged())
            && about_it.iter().all(|alert| alert.is_acknowledged() || alert.is_quiet())
        {
            Self::Answered
        } else {
            Self::Overloaded
        }
    }

    /// The shape beside the word.
    pub(crate) fn shape(self) -> Shape {
        match self {
            Self::Overloaded | Self::Answered => Shape::Act,
            Self::Rising | Self::Alerted => Shape::Watch,
            Self::Silent => Shape::Silent,
            Self::Normal => Shape::Well,
            Self::Unjudged | Self::Idle | Self::KeptQuiet => Shape::Unknown,
        }
    }

    /// The word.
    pub(crate) fn words(self, line: &LineStatus) -> String {
        let words = match self {
            Self::Silent => "No readings",
            Self::Overloaded => "Overloaded",
            Self::Answered => "Overloaded, acknowledged",
            Self::KeptQuiet => "Overloaded, kept quiet",
            Self::Alerted => "See the alert",
            Self::Rising => "Rising",
            Self::Normal => "Normal",
            Self::Unjudged => "Not judged",
            Self::Idle => return figure::sentence(&line.state),
        };
        words.to_owned()
    }

    /// Its card in the style sheet.
    pub(crate) fn class(self) -> &'static str {
        match self {
            Self::Silent => "watch stale",
            Self::Answered => "act answered",
            _ => self.shape().class(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Standing;
    use crate::page::alert::Alert;
    use crate::page::clock::Clock;
    use crate::status::LineStatus;

    #[test]
    fn what_matters_most_is_said() {
        let clock = Clock::of("2026-10-06T14:31:10+01:00");
        let alert = |line: &str, finding: &str, state: &str| Alert {
            line: line.into(),
            finding: finding.into(),
            state: state.into(),
            ..Alert::default()
        };
        let alerts = [
            alert("tunnel-2", "steam-short", "unacknowledged"),
            alert("tunnel-3", "carryover", "acknowledged"),
            alert("tunnel-3", "zone3-limit", "shelved"),
            alert("tunnel-4", "carryover", "shelved"),
            alert("tunnel-5", "carryover", "acknowledged"),
            alert("tunnel-5", "zone3-limit", "unacknowledged"),
        ];
        for (id, newest, load, state, expected) in [
            ("tunnel-1", Some("2026-10-06T13:31:09Z"), "normal", "baking", Standing::Normal),
            ("tunnel-1", Some("2026-10-06T13:31:09Z"), "rising", "baking", Standing::Rising),
            ("tunnel-1", Some("2026-10-06T13:31:09Z"), "overloaded", "baking", Standing::Overloaded),
            ("tunnel-1", Some("2026-10-06T13:31:09Z"), "unknown", "baking", Standing::Unjudged),
            ("tunnel-1", Some("2026-10-06T13:31:09Z"), "unknown", "heating", Standing::Idle),
            ("tunnel-1", Some("2026-10-06T13:26:00Z"), "overloaded", "baking", Standing::Silent),
            ("tunnel-1", None, "normal", "baking", Standing::Silent),
            ("tunnel-2", Some("2026-10-06T13:31:09Z"), "normal", "baking", Standing::Alerted),
            ("tunnel-2", Some("2026-10-06T13:31:09Z"), "overloaded", "baking", Standing::Overloaded),
            ("tunnel-3", Some("2026-10-06T13:31:09Z"), "overloaded", "baking", Standing::Answered),
            ("tunnel-4", Some("2026-10-06T13:31:09Z"), "overloaded", "baking", Standing::KeptQuiet),
            ("tunnel-4", Some("2026-10-06T13:31:09Z"), "normal", "baking", Standing::Normal),
            ("tunnel-5", Some("2026-10-06T13:31:09Z"), "overloaded", "baking", Standing::Overloaded),
        ] {
            let line = LineStatus {
                id: id.into(),
                newest: newest.map(str::to_owned),
                load: load.into(),
                state: state.into(),
                ..LineStatus::default()
            };
            assert_eq!(Standing::of(&line, &alerts, &clock), expected, "{line:?}");
        }
    }
}

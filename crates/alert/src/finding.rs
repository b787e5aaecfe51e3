//! What the signs of the zones' departures mean.

use reading::TroubleKind;
use serde::{Deserialize, Serialize};

use crate::evidence::{Evidence, ZoneEvidence};
use crate::settings::DetectionSettings;

/// What is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Finding {
    /// Late zones are wetter than normal at this speed: the oven is overloaded.
    Carryover,
    /// The peak of zone 1 fell: the steam did not keep up.
    SteamShort,
    /// Every zone is drier than normal: more exhaust than the load needs.
    OverVented,
    /// The zones did not move as the load, the dampers and the steam say they must: a sensor, the
    /// feed or the speed signal is wrong.
    NoResponse,
    /// A damper stands otherwise than it did.
    Damper,
    /// The steam is other than it was.
    Steam,
    /// A zone is hotter or colder than normal.
    Temperature,
    /// Humidity departs, and no signal says why.
    Unexplained,
    /// Steam flows where no product is.
    SteamWithoutProduct,
    /// Product is under steam for longer than the limit.
    SteamTooLong,
    /// Nothing believable is heard of a signal.
    Silent,
    /// A signal shows one value again and again.
    Stuck,
    /// A signal shows what no such sensor can show.
    OutOfRange,
    /// A signal shows what no air can be, or contradicts its neighbour.
    Impossible,
    /// Zone 3 is above the product's hard limit.
    Zone3Limit,
}

/// Departures of fewer standard deviations than this do not decide what is wrong.
const CLEAR: f64 = 2.5;

impl Finding {
    /// Whether it says that moisture stays in the oven.
    #[must_use]
    pub fn means_overload(self) -> bool {
        matches!(self, Self::Carryover | Self::Zone3Limit)
    }

    /// The finding that evidence supports, once it is strong enough to raise an alert.
    #[must_use]
    pub fn of(evidence: &Evidence, settings: &DetectionSettings) -> Option<Self> {
        if evidence.unmoved.is_some() {
            return Some(Self::NoResponse);
        }
        if evidence.tail > settings.false_alarm_probability() {
            return None;
        }
        let wetter = |zone: &&ZoneEvidence| zone.z() >= CLEAR && zone.excess() >= settings.least_excess;
        let drier = |zone: &&ZoneEvidence| zone.z() <= -CLEAR && zone.excess() <= -settings.least_excess;
        let first = evidence.reached().find(|zone| zone.zone == 1).filter(|zone| drier(zone));
        let wettest =
            evidence.reached().filter(|zone| zone.zone > 1).filter(wetter).max_by(|a, b| a.z().total_cmp(&b.z()));
        let reached = evidence.reached().count();
        match (first, wettest) {
            // All zones drier is the exhaust, but only when the late ones have spoken.
            (Some(_), None) if evidence.complete && reached > 1 && evidence.reached().all(|zone| drier(&zone)) => {
                Some(Self::OverVented)
            }
            (Some(first), Some(wet)) if wet.z() > -first.z() => Some(Self::Carryover),
            (Some(_), _) => Some(Self::SteamShort),
            (None, Some(_)) => Some(Self::Carryover),
            (None, None) => None,
        }
    }

    /// The finding that a signal's trouble is.
    #[must_use]
    pub fn of_trouble(kind: TroubleKind) -> Self {
        match kind {
            TroubleKind::Silent => Self::Silent,
            TroubleKind::Stuck => Self::Stuck,
            TroubleKind::OutOfRange => Self::OutOfRange,
            TroubleKind::Impossible => Self::Impossible,
        }
    }

    /// Its name in messages and files.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Carryover => "carryover",
            Self::SteamShort => "steam-short",
            Self::OverVented => "over-vented",
            Self::NoResponse => "no-response",
            Self::Damper => "damper",
            Self::Steam => "steam",
            Self::Temperature => "temperature",
            Self::Unexplained => "unexplained",
            Self::SteamWithoutProduct => "steam-without-product",
            Self::SteamTooLong => "steam-too-long",
            Self::Silent => "silent",
            Self::Stuck => "stuck",
            Self::OutOfRange => "out-of-range",
            Self::Impossible => "impossible",
            Self::Zone3Limit => "zone3-limit",
        }
    }
}

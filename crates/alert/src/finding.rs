//! What the signs of the zones' departures mean.

use reading::TroubleKind;
use serde::{Deserialize, Serialize};

use crate::evidence::{Evidence, ZoneEvidence};
use crate::settings::DetectionSettings;
use crate::unanswered::Unanswered;

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

/// Share of a rise's load that may stay in the zones before it is worth a person's time.
pub(crate) const LEAST_SHARE: f64 = 0.7;

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
        let threshold = settings.false_alarm_probability();
        let stays = |it: &Unanswered| it.chance() <= threshold && it.share >= LEAST_SHARE;
        let carried = evidence.unanswered.as_ref().is_some_and(stays);
        let lower = |zone: &ZoneEvidence| zone.excess() <= -settings.least_excess;
        let drier = |zone: &ZoneEvidence| lower(zone) && zone.chance_below() <= threshold;
        let first = evidence.reached().find(|zone| zone.zone == 1);
        // All zones drier is the exhaust, but only the late ones can tell it from the steam.
        if evidence.complete && evidence.reached().count() > 1 && evidence.reached().all(drier) {
            Some(Self::OverVented)
        } else if first.is_some_and(drier) || (carried && first.is_some_and(lower)) {
            Some(Self::SteamShort)
        } else {
            carried.then_some(Self::Carryover)
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

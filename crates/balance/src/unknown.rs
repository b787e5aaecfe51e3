//! What is to be learned, and what is common practice for it before anything is learned.
//!
//! Each unknown is fitted on a scale on which its uncertainty is even: the logarithm for all but one. Common practice
//! is its centre and spread there, which the fit weighs against the data; so that what the data cannot tell stays at
//! practice with practice's whole spread, and is named.

use serde::{Deserialize, Serialize};

use crate::bake::Bake;

/// A quantity to be learned. Zones count from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unknown {
    /// Form of the drying curve.
    DryingShape,
    /// Time of the drying curve, min.
    DryingScale,
    /// Power of the opening with which a damper's flow grows.
    DamperPower,
    /// Power of the band speed with which the crews let the exhaust grow; only without damper signals.
    ExhaustBySpeed,
    /// Dry air that neighbouring zones swap, kg/h.
    Exchange,
    /// Share of the steam that drifts into zone 2.
    SteamDrift,
    /// Steam, kg per kg of dough; only without a steam flow signal.
    Steam,
    /// Loss through the walls, kW/m.
    Walls,
    /// Dry air that a zone's exhaust usually draws, kg/h.
    Exhaust(usize),
}

/// Centre, spread (one standard deviation) and limits, on the unknown's own scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Practice {
    pub(crate) centre: f64,
    pub(crate) spread: f64,
    low: f64,
    high: f64,
}

impl Unknown {
    /// What has to be learned of an oven of so many zones, with or without signals of dampers and steam flow.
    pub(crate) fn all(zones: usize, dampers: bool, steam_flow: bool) -> Vec<Self> {
        let mut all = vec![Self::DryingShape, Self::DryingScale, Self::Exchange, Self::SteamDrift, Self::Walls];
        all.push(if dampers { Self::DamperPower } else { Self::ExhaustBySpeed });
        if !steam_flow {
            all.push(Self::Steam);
        }
        all.extend((0..zones).map(Self::Exhaust));
        all
    }

    /// Common practice, for want of a source; `exhaust_kg_h` is what closes the balance with the rest at its centre.
    pub(crate) fn practice(self, bake: &Bake, exhaust_kg_h: &[f64]) -> Practice {
        let of = |centre: f64, spread: f64, low: f64, high: f64| {
            let scale = |value: f64| self.to_scale(value);
            Practice { centre: scale(centre), spread, low: scale(low), high: scale(high) }
        };
        let nominal = bake.bake_time_min;
        match self {
            Self::DryingShape => of(2.0, 0.25, 1.0, 4.0),
            Self::DryingScale => of(0.42 * nominal, 0.25, 0.15 * nominal, 0.9 * nominal),
            Self::DamperPower => of(1.7, 0.25, 0.5, 3.5),
            Self::ExhaustBySpeed => of(1.0, 0.7, -2.0, 4.0),
            Self::Exchange => of(50.0, 0.8, 1.0, 2_000.0),
            Self::SteamDrift => of(0.15, 0.6, 0.005, 0.8),
            Self::Steam => of(0.18, 0.4, 0.01, 1.0),
            Self::Walls => of(1.5, 0.35, 0.1, 10.0),
            // Nothing is known of fans before: the spread leaves it to the data.
            Self::Exhaust(zone) => of(exhaust_kg_h[zone], 1.0, 1.0, 1e5),
        }
    }

    /// From its unit to the scale on which it is fitted.
    pub(crate) fn to_scale(self, value: f64) -> f64 {
        if self == Self::ExhaustBySpeed { value } else { value.ln() }
    }

    /// From the scale on which it is fitted to its unit.
    pub(crate) fn in_unit(self, fitted: f64) -> f64 {
        if self == Self::ExhaustBySpeed { fitted } else { fitted.exp() }
    }

    /// In words, with its unit.
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Self::DryingShape => "form of the drying curve".into(),
            Self::DryingScale => "time of the drying curve, min".into(),
            Self::DamperPower => "power of the damper opening".into(),
            Self::ExhaustBySpeed => "power of the speed in the crews' exhaust".into(),
            Self::Exchange => "air swapped between zones, kg/h".into(),
            Self::SteamDrift => "share of steam that drifts into zone 2".into(),
            Self::Steam => "steam, kg per kg of dough".into(),
            Self::Walls => "loss through the walls, kW/m".into(),
            Self::Exhaust(zone) => format!("exhaust of zone {} as usually run, kg/h dry air", zone + 1),
        }
    }
}

impl Practice {
    /// A fitted value within the limits.
    pub(crate) fn within(&self, fitted: f64) -> f64 {
        fitted.clamp(self.low, self.high)
    }
}

//! An alert as it is stored and sent.

use std::sync::Arc;

use normal_profile::Band;
use reading::Timestamp;
use serde::{Deserialize, Serialize};

use crate::evidence::ZoneEvidence;
use crate::finding::Finding;
use crate::lifecycle::Answer;
use crate::message::moisture_pct;
use crate::state::AlertState;

/// An alert, whole: what is published, stored and shown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Alert {
    /// ULID of when it was raised and what it is about: the same readings give the same id.
    pub id: String,
    /// Site.
    pub site: Arc<str>,
    /// Line.
    pub line: Arc<str>,
    /// What kind of event.
    pub kind: Kind,
    /// What is wrong.
    pub finding: Finding,
    /// How soon a person should look.
    pub priority: Priority,
    /// Where it stands in its life.
    pub state: AlertState,
    /// Code of the product in the oven.
    pub product: Option<Arc<str>>,
    /// When the cause began.
    pub began: Timestamp,
    /// When the evidence sufficed.
    pub raised: Timestamp,
    /// When the evidence was gone.
    pub ended: Option<Timestamp>,
    /// The rise of the band speed, if there was one.
    pub speed: Option<SpeedChange>,
    /// Zone by zone, in the direction of travel.
    pub zones: Vec<ZoneFigures>,
    /// Tags of the signals it is about, where it is about signals.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub signals: Vec<String>,
    /// 1 − the chance of such evidence from a rise that was met by practice; absent for a fixed limit.
    pub confidence: Option<f64>,
    /// The normal it was held against, if one is approved.
    pub normal: Option<String>,
    /// What happened, in one sentence.
    pub message: String,
    /// What to try, first things first.
    pub advice: Vec<Advice>,
    /// What goes with every advice.
    pub caution: String,
    /// What people have done about it.
    #[serde(flatten)]
    pub answer: Answer,
}

/// What kind of event an alert is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// The band runs faster and the zones did not follow as practice has it.
    UnmatchedSpeedRise,
    /// No rise, and yet the oven does not run as it was learned.
    DepartsFromNormal,
    /// Steam that does nothing for the product.
    OverSteaming,
    /// Zone 3 is above the product's hard limit.
    Zone3Limit,
    /// A signal is not to be believed.
    SensorFault,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 5] =
        [Self::UnmatchedSpeedRise, Self::DepartsFromNormal, Self::OverSteaming, Self::Zone3Limit, Self::SensorFault];

    /// The most urgent that an alert of this kind can be.
    #[must_use]
    pub fn highest_priority(self) -> Priority {
        match self {
            Self::UnmatchedSpeedRise | Self::Zone3Limit => Priority::High,
            Self::DepartsFromNormal | Self::OverSteaming | Self::SensorFault => Priority::Medium,
        }
    }

    /// Its name in messages and files.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::UnmatchedSpeedRise => "unmatched-speed-rise",
            Self::DepartsFromNormal => "departs-from-normal",
            Self::OverSteaming => "over-steaming",
            Self::Zone3Limit => "zone3-limit",
            Self::SensorFault => "sensor-fault",
        }
    }
}

/// How soon a person should look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Priority {
    /// Product is being spoilt now.
    High,
    /// Within the shift.
    Medium,
}

/// A change of the band speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpeedChange {
    /// Level before.
    pub before: f64,
    /// Level now.
    pub after: f64,
    /// By how much of the level before, %.
    pub rise_pct: f64,
    /// Always `m/min`.
    pub unit: String,
}

/// What one zone did, in moisture by volume.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ZoneFigures {
    /// The zone, from 1.
    pub zone: usize,
    /// Before the rise.
    pub before: Option<f64>,
    /// Now.
    pub observed: f64,
    /// What practice makes of the rise, or the limit.
    pub expected: f64,
    /// Lower end of the band that holds 95 of 100 rises.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// Always `% vol`.
    pub unit: String,
    /// Departure in standard deviations.
    pub z: Option<f64>,
}

impl ZoneFigures {
    /// A zone during a rise.
    pub(crate) fn of_rise(zone: &ZoneEvidence) -> Self {
        Self {
            before: Some(moisture_pct(zone.before)),
            z: zone.reached.then(|| zone.z()),
            ..Self::against_normal(zone.zone, zone.observed, zone.band())
        }
    }

    /// A zone beside what is expected of it, both as ln kg/kg.
    pub(crate) fn against_normal(zone: usize, observed: f64, expected: Band) -> Self {
        Self {
            zone,
            before: None,
            observed: moisture_pct(observed),
            expected: moisture_pct(expected.mean),
            low: Some(moisture_pct(expected.low())),
            high: Some(moisture_pct(expected.high())),
            unit: "% vol".into(),
            z: Some((observed - expected.mean) / expected.sd),
        }
    }

    /// A zone beside a limit, both in % vol.
    pub(crate) fn against_limit(zone: usize, observed: f64, limit: f64) -> Self {
        Self { zone, before: None, observed, expected: limit, low: None, high: None, unit: "% vol".into(), z: None }
    }
}

/// One thing to try.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "step", rename_all = "kebab-case")]
pub enum Advice {
    /// Look at the steam first: it costs nothing.
    CheckSteamValve {
        /// In words.
        text: String,
    },
    /// Let more moisture out.
    OpenExhaust {
        /// In words.
        text: String,
        /// Which zone.
        zone: usize,
        /// Opening to try, % (absent without a damper signal).
        #[serde(skip_serializing_if = "Option::is_none")]
        to_pct: Option<f64>,
    },
    /// Look at a signal before believing what it says.
    CheckSensor {
        /// In words.
        text: String,
    },
    /// Look at a zone's heating.
    CheckBurner {
        /// In words.
        text: String,
        /// Which zone.
        zone: usize,
    },
    /// Put a damper back, or learn the new setting.
    CheckDamper {
        /// In words.
        text: String,
        /// Which zone.
        zone: usize,
    },
    /// Close exhaust that lets out more than the load needs.
    CloseExhaust {
        /// In words.
        text: String,
    },
    /// Bring less moisture in.
    SlowBand {
        /// In words.
        text: String,
        /// Band speed to try, m/min (absent where no rise can be undone).
        #[serde(skip_serializing_if = "Option::is_none")]
        to_m_min: Option<f64>,
    },
}

impl Advice {
    /// In words.
    #[must_use]
    pub fn text(&self) -> &str {
        match self {
            Self::CheckSteamValve { text }
            | Self::CheckSensor { text }
            | Self::CheckBurner { text, .. }
            | Self::CheckDamper { text, .. }
            | Self::OpenExhaust { text, .. }
            | Self::CloseExhaust { text }
            | Self::SlowBand { text, .. } => text,
        }
    }
}

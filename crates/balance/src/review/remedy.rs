//! One thing that can be done.

use serde::{Deserialize, Serialize};

use super::profile::Profile;

/// What kind of thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RemedyKind {
    /// Inject less steam.
    ShortenSteam,
    /// Let more moisture out.
    OpenExhaust,
    /// Run the band slower than asked for.
    SlowBand,
    /// Dry earlier.
    RaiseTemperature,
    /// Build a longer oven.
    AddZone,
}

/// What is to be set, and from what.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Setting {
    /// The zone, from 1; none for the whole line.
    pub zone: Option<usize>,
    /// Of what, with its unit.
    pub of: &'static str,
    /// Now.
    pub from: f64,
    /// To try.
    pub to: f64,
}

/// What is set in one zone while the others stay as they are, as far as it must go or as far as it can.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZoneAlone {
    /// What is to be set there.
    pub setting: Setting,
    /// What the zones then hold, % vol.
    pub moisture_pct: Vec<f64>,
    /// The chance that a late zone is above its ceiling, %.
    pub carryover_chance_pct: f64,
    /// Whether that is little enough.
    pub suffices: bool,
    /// Energy bought beyond that of the same speed untouched, kWh an hour.
    pub further_kwh_h: f64,
}

/// One thing that can be done.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Remedy {
    /// What kind.
    pub kind: RemedyKind,
    /// What is to be set.
    pub settings: Vec<Setting>,
    /// Where each zone is set apart: what setting one of them alone does.
    pub zones_alone: Vec<ZoneAlone>,
    /// What the oven then holds and takes.
    pub profile: Profile,
    /// Whether every late zone is then likely enough under its ceiling.
    pub suffices: bool,
    /// Energy bought beyond that of the same speed untouched, kWh an hour.
    pub further_kwh_h: f64,
    /// Good product less than at the same speed untouched, t/h: a slower band, or a greater bake loss.
    pub lost_t_h: f64,
    /// What that would have earned an hour.
    pub lost_margin_per_h: Option<f64>,
    /// What has to be built.
    pub capital: Option<f64>,
    /// The same a year.
    pub capital_per_year: Option<f64>,
    /// Earned a year beyond the usual speed: margin less energy less capital.
    pub net_gain_per_year: Option<f64>,
    /// Why it stands where it stands.
    pub reason: String,
    /// What to mind.
    pub caution: &'static str,
}

impl RemedyKind {
    /// In words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::ShortenSteam => "shorten the steam",
            Self::OpenExhaust => "open the exhaust",
            Self::SlowBand => "slow the band",
            Self::RaiseTemperature => "raise the temperature",
            Self::AddZone => "add a zone",
        }
    }

    /// What to mind.
    pub(super) fn caution(self) -> &'static str {
        match self {
            Self::ShortenSteam => {
                "Too little steam dulls the crust and tears it; look at the bread of the first bake before going on."
            }
            Self::OpenExhaust => {
                "The oven maker's least and greatest draught hold; burners need their air and the hall its pressure."
            }
            Self::SlowBand => "Proofer and divider must follow, or dough waits and overproofs.",
            Self::RaiseTemperature => {
                "Crust colours faster and bake loss rises; temperature limits and burner ratings hold."
            }
            Self::AddZone => {
                "An estimate of size, as if every zone and its exhaust grew alike; the oven maker designs, licensed people \
                 build."
            }
        }
    }
}

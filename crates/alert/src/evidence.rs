//! What a rise has done to the zones, against what practice makes of it.
//!
//! Each zone is compared with itself before the rise, so that a crew's habits and a sensor's bias
//! cancel. A zone speaks once material fed at the new rate has passed through it and its sensor has
//! had time to follow.

use normal_profile::Band;
use normal_profile::statistics::SquareMatrix;
use physics::units::Metre;
use reading::{Line, Timestamp};

use crate::finding::Finding;
use crate::practice::Practice;
use crate::recent::Recent;
use crate::response::{Unmoved, unmoved};
use crate::rise::Rise;
use crate::settings::DetectionSettings;
use crate::unanswered::{Unanswered, unanswered, upper_tail};

/// Windows over which a zone is averaged: two minutes hold the sensor's noise down and cost no delay
/// beside that of the zone itself.
const AVERAGED: usize = 4;
/// A zone speaks when the material in it has lived through this share of the rise.
const REACHED: f64 = 0.7;

/// One zone's part of the evidence; humidities as ln kg/kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneEvidence {
    /// The zone, from 1.
    pub zone: usize,
    /// Mean before the rise.
    pub before: f64,
    /// Mean of the last two minutes.
    pub observed: f64,
    /// What practice makes of the rise.
    pub expected: f64,
    /// Standard deviation of that.
    pub sd: f64,
    /// Whether material fed at the new rate has passed through the zone.
    pub reached: bool,
}

impl ZoneEvidence {
    /// Departure from the expected change, in standard deviations.
    #[must_use]
    pub fn z(&self) -> f64 {
        self.excess() / self.sd
    }

    /// What practice makes of the rise, ln kg/kg.
    #[must_use]
    pub fn band(&self) -> Band {
        Band { mean: self.expected, sd: self.sd }
    }

    /// The chance that a zone falls so far below the expected change in a rise that was met.
    #[must_use]
    pub fn chance_below(&self) -> f64 {
        upper_tail(-self.z())
    }

    /// Departure from the expected change, ln.
    #[must_use]
    pub fn excess(&self) -> f64 {
        self.observed - self.expected
    }
}

/// The evidence at one window.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Every zone with a humidity before and now.
    pub zones: Vec<ZoneEvidence>,
    /// How much of the load stays in the zones that the rise has reached; none before it has reached
    /// one that follows the load.
    pub unanswered: Option<Unanswered>,
    /// Whether the rise has reached every zone.
    pub complete: bool,
    /// Set if the zones did not follow a load that nobody met.
    pub unmoved: Option<Unmoved>,
}

impl Evidence {
    /// The chance that a rise that was met looks like a finding as much as this one does.
    #[must_use]
    pub fn chance_of(&self, finding: Finding) -> f64 {
        let first = || self.reached().map(ZoneEvidence::chance_below).next();
        let chance = match finding {
            Finding::NoResponse => self.unmoved.map(|it| upper_tail(it.z)),
            Finding::SteamShort | Finding::OverVented => first(),
            _ => self.unanswered.map(|it| it.chance()),
        };
        chance.unwrap_or(1.0)
    }

    /// The zones that the rise has reached.
    pub fn reached(&self) -> impl Iterator<Item = &ZoneEvidence> {
        self.zones.iter().filter(|zone| zone.reached)
    }
}

/// Weighs a rise at the end of the newest window. `None` until a zone has a humidity before and now.
pub(crate) fn weigh(
    rise: &Rise,
    recent: &Recent,
    line: &Line,
    practice: &Practice,
    drift: Option<&SquareMatrix>,
    settings: &DetectionSettings,
) -> Option<Evidence> {
    let now = recent.newest_first().next()?.ends;
    let mut position = Metre(0.0);
    let mut zones = Vec::new();
    for (index, zone) in line.zones.iter().enumerate() {
        position = Metre(position.0 + zone.length.0);
        let before = rise.ln_humidity_before.get(index).copied().flatten();
        let (Some(before), Some(observed)) = (before, observed(recent, index, rise.began)) else { continue };
        zones.push(ZoneEvidence {
            zone: index + 1,
            before,
            observed,
            expected: before + practice.mean[index],
            sd: practice.sd(index),
            reached: has_reached(rise, recent, position, now, settings),
        });
    }
    let complete = !zones.is_empty() && zones.iter().all(|zone| zone.reached);
    let unanswered = unanswered(rise.ln_change(), line, &zones, practice);
    let unmoved = complete.then(|| unmoved(rise, recent, &zones, drift)).flatten();
    (!zones.is_empty()).then_some(Evidence { zones, unanswered, complete, unmoved })
}

fn observed(recent: &Recent, zone: usize, began: Timestamp) -> Option<f64> {
    let since = recent.newest_first().take_while(|moment| moment.starts >= began).filter(|moment| moment.baking);
    let values: Vec<f64> = since.take(AVERAGED).filter_map(|moment| moment.ln_humidity[zone]).collect();
    (values.len() * 2 >= AVERAGED).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Whether the material at the end of a zone, one lag ago, had lived through the rise.
fn has_reached(rise: &Rise, recent: &Recent, end: Metre, now: Timestamp, settings: &DetectionSettings) -> bool {
    let Some(speed) = recent.speed_of_material(end.0, now - settings.zone_lag) else { return false };
    (speed / rise.before.0).ln() >= REACHED * rise.ln_change()
}

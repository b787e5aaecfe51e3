//! What a rise has done to the zones, against what practice makes of it.
//!
//! Each zone is compared with itself before the rise, so that a crew's habits and a sensor's bias
//! cancel. A zone speaks once material fed at the new rate has passed through it and its sensor has
//! had time to follow.

use normal_profile::statistics::{SquareMatrix, chi_square_tail, mahalanobis_squared};
use normal_profile::{Band, Normal};
use physics::units::Metre;
use reading::{Line, Timestamp};

use crate::recent::Recent;
use crate::response::{Unmoved, unmoved};
use crate::rise::Rise;
use crate::settings::DetectionSettings;

/// Windows over which a zone is averaged: two minutes hold the sensor's noise down and cost no delay
/// beside that of the zone itself.
const AVERAGED: usize = 4;
/// A zone speaks when the material in it has lived through this share of the rise.
const REACHED: f64 = 0.8;
/// Without a normal: how well "humidity holds" can be believed of any zone, and per ln speed.
const HOLDS_WITHIN: (f64, f64) = (0.04, 0.25);

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
    /// Squared Mahalanobis distance of the zones that the rise has reached, together: a chi-square value
    /// with as many degrees of freedom as there are such zones. 0 before it has reached any.
    pub distance_squared: f64,
    /// The chance of a departure like this of the zones that the rise has reached, if the rise was
    /// met as practice meets it.
    pub tail: f64,
    /// Whether the rise has reached every zone.
    pub complete: bool,
    /// Set if the zones did not follow a load that nobody met.
    pub unmoved: Option<Unmoved>,
}

impl Evidence {
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
    normal: Option<&Normal>,
    settings: &DetectionSettings,
) -> Option<Evidence> {
    let now = recent.newest_first().next()?.ends;
    let (mean, covariance) = expected_change(rise, line.zones.len(), normal);
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
            expected: before + mean[index],
            sd: covariance.get(index, index).sqrt(),
            reached: has_reached(rise, recent, position, now, settings),
        });
    }
    let complete = !zones.is_empty() && zones.iter().all(|zone| zone.reached);
    let (distance_squared, tail) = combined(&zones, &covariance);
    let drift = normal.map(|normal| &normal.record().drift);
    let unmoved = complete.then(|| unmoved(rise, recent, &zones, drift)).flatten();
    (!zones.is_empty()).then_some(Evidence { zones, distance_squared, tail, complete, unmoved })
}

fn expected_change(rise: &Rise, zones: usize, normal: Option<&Normal>) -> (Vec<f64>, SquareMatrix) {
    if let Some(normal) = normal {
        let change = normal.expect_change(rise.before, rise.after);
        return (change.mean, change.covariance);
    }
    let mut covariance = SquareMatrix::zeros(zones);
    for zone in 0..zones {
        covariance.add(zone, zone, HOLDS_WITHIN.0.powi(2) + (HOLDS_WITHIN.1 * rise.ln_change()).powi(2));
    }
    (vec![0.0; zones], covariance)
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

/// The distance of the zones that the rise has reached, and its chance.
fn combined(zones: &[ZoneEvidence], covariance: &SquareMatrix) -> (f64, f64) {
    let reached: Vec<&ZoneEvidence> = zones.iter().filter(|zone| zone.reached).collect();
    if reached.is_empty() {
        return (0.0, 1.0);
    }
    let indices: Vec<usize> = reached.iter().map(|zone| zone.zone - 1).collect();
    let excess: Vec<f64> = reached.iter().map(|zone| zone.excess()).collect();
    // A covariance that cannot be inverted says nothing about the zones together.
    match mahalanobis_squared(&excess, &covariance.select(&indices)) {
        Ok(distance) => (distance, chi_square_tail(distance, reached.len())),
        Err(_) => (0.0, 1.0),
    }
}

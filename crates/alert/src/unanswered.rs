//! How much of the load that a rise brings nobody answers.
//!
//! Two courses are held against each other: the zones change as practice makes of such a rise, or they
//! take on the load because nobody opens or adds anything. The departure from practice is projected
//! on the difference of the two, which asks one question of all zones together. A distance to practice in
//! any direction would ask as many as there are zones, and would raise an alert for a large rise
//! that was met a little better or worse than usual.

use normal_profile::statistics::{Cholesky, SquareMatrix, chi_square_tail};
use reading::Line;

use crate::evidence::ZoneEvidence;
use crate::practice::Practice;

/// Zones whose middle lies before the first of these shares of the oven's length do not follow the load, those
/// beyond the second in full: zone 1's vapour is the steam's, the middle is shared (common practice).
const FOLLOWS: (f64, f64) = (0.2, 0.6);
/// A zone that follows the load by less than this cannot speak of it by itself.
const SPEAKS: f64 = 0.5;
/// Where practice already leaves this share of the load in a zone, the two courses cannot be told apart there.
const ALIKE: f64 = 0.7;

/// The part of a rise's load that stays in the zones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unanswered {
    /// Its share: 0 if the rise was met as practice meets it, 1 if the late zones have become wetter in
    /// step with the load. It can be more: what zone 2 does not dry, zone 3 must.
    pub share: f64,
    /// Standard deviations of a rise that was met.
    pub z: f64,
}

impl Unanswered {
    /// The chance that a rise that was met goes so far.
    #[must_use]
    pub fn chance(&self) -> f64 {
        upper_tail(self.z)
    }
}

/// The chance that a standard normal value lies above this.
pub(crate) fn upper_tail(z: f64) -> f64 {
    let half = chi_square_tail(z * z, 1) / 2.0;
    if z >= 0.0 { half } else { 1.0 - half }
}

/// By how much of the change of load (both as ln) a zone becomes wetter if nobody answers, zone by zone.
fn follows_load(line: &Line) -> Vec<f64> {
    let whole: f64 = line.zones.iter().map(|zone| zone.length.0).sum();
    let mut end = 0.0;
    let follows = |length: f64| {
        end += length;
        let middle = (end - length / 2.0) / whole;
        ((middle - FOLLOWS.0) / (FOLLOWS.1 - FOLLOWS.0)).clamp(0.0, 1.0)
    };
    line.zones.iter().map(|zone| zone.length.0).map(follows).collect()
}

/// What the zones that a rise of ln speed has reached say of its load. `None` until a zone speaks that
/// follows the load.
pub(crate) fn unanswered(
    ln_change: f64,
    line: &Line,
    zones: &[ZoneEvidence],
    practice: &Practice,
) -> Option<Unanswered> {
    let follows = follows_load(line);
    let reached: Vec<&ZoneEvidence> = zones.iter().filter(|zone| zone.reached).collect();
    let indices: Vec<usize> = reached.iter().map(|zone| zone.zone - 1).collect();
    indices.iter().find(|&&index| follows[index] >= SPEAKS)?;
    let apart: Vec<f64> = reached
        .iter()
        .map(|zone| {
            let (if_unanswered, by_practice) = (follows[zone.zone - 1] * ln_change, zone.expected - zone.before);
            if by_practice < ALIKE * if_unanswered { if_unanswered - by_practice } else { 0.0 }
        })
        .collect();
    let excess: Vec<f64> = reached.iter().map(|zone| zone.excess()).collect();
    let learned = practice.covariance.select(&indices);
    // Zones are weighed by themselves: correlations learned from a few rises would let a fall of zone 1
    // pass for a rise of zone 3.
    let alone =
        SquareMatrix::from_fn(indices.len(), |row, column| if row == column { learned.get(row, row) } else { 0.0 });
    let plain = project(&excess, &apart, &alone, &learned)?;
    if !practice.crews_change() {
        return Some(plain);
    }
    // What a new crew sets moves all zones together. It must show against the early zones as well.
    let handover = practice.handover_of(&indices);
    let contrast = project(&excess, &apart, &alone.plus(&handover), &learned.plus(&handover))?;
    Some(Unanswered { share: plain.share.min(contrast.share), z: plain.z.min(contrast.z) })
}

/// The departure along `apart`, weighed by one covariance and spread by another.
fn project(excess: &[f64], apart: &[f64], weighed_by: &SquareMatrix, spread_by: &SquareMatrix) -> Option<Unanswered> {
    let weights = Cholesky::factor(weighed_by).and_then(|factor| factor.solve(apart)).ok()?;
    let weighed = |values: &[f64]| -> f64 { weights.iter().zip(values).map(|(weight, value)| weight * value).sum() };
    let variance: f64 = (0..weights.len()).map(|row| weights[row] * weighed(spread_by.row(row))).sum();
    let (towards, whole) = (weighed(excess), weighed(apart));
    (whole > 0.0 && variance > 0.0).then(|| Unanswered { share: towards / whole, z: towards / variance.sqrt() })
}

#[cfg(test)]
mod tests;

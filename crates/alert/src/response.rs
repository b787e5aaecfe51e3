//! What the load must do by physics, with the dampers and the steam as they are.
//!
//! Practice says what a crew makes of a rise; physics says what the oven does if nobody touches it:
//! more dough a minute brings more water a minute, and late zones get wetter by the load at least
//! (drying needs its time, so what is not dried in zone 2 is brought to zone 3). If nobody touched
//! anything and the late zones did not move, then a signal lies, or the band did not bring the load
//! that its speed says.

use normal_profile::statistics::SquareMatrix;

use crate::evidence::ZoneEvidence;
use crate::recent::{Recent, Settings};
use crate::rise::Rise;

/// Smaller rises move the late zones by less than they drift.
const LEAST_RISE: f64 = 0.045;
/// A damper or the steam has been touched if it moved by this much: points of opening, and share.
const DAMPER_TOUCHED_PCT: f64 = 1.5;
const STEAM_TOUCHED: f64 = 0.05;
/// Of the change that physics asks for, zones that moved by less than this share did not move.
const UNMOVED: f64 = 0.35;
/// How surely the zones must have stayed behind, in standard deviations.
const SURELY: f64 = 3.5;
/// Without a normal: how far a zone drifts by itself, ln.
const USUAL_DRIFT: f64 = 0.02;

/// The zones stayed where they were although the load, the dampers and the steam say that they must move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unmoved {
    /// By how much the late zones must have become wetter, ln.
    pub demanded: f64,
    /// By how much they did, ln.
    pub observed: f64,
    /// How surely, in standard deviations.
    pub z: f64,
}

/// Whether the late zones did not follow a load that nobody met. `None` as well where it cannot be
/// known: a zone without a damper signal, or a rise that has not reached every zone.
pub(crate) fn unmoved(
    rise: &Rise,
    recent: &Recent,
    zones: &[ZoneEvidence],
    drift: Option<&SquareMatrix>,
) -> Option<Unmoved> {
    let demanded = rise.ln_change();
    if demanded < LEAST_RISE || !is_untouched(&rise.settings_before, &recent.settings()) {
        return None;
    }
    let last = zones.iter().map(|zone| zone.zone).max()?;
    let late: Vec<&ZoneEvidence> = zones.iter().filter(|zone| zone.zone * 2 > last && zone.reached).collect();
    let count = late.len() as f64;
    let observed = late.iter().map(|zone| zone.observed - zone.before).sum::<f64>() / count;
    let covariance = |one: &ZoneEvidence, other: &ZoneEvidence| match drift {
        Some(drift) => drift.get(one.zone - 1, other.zone - 1),
        None if one.zone == other.zone => USUAL_DRIFT.powi(2),
        None => 0.0,
    };
    let sum: f64 = late.iter().flat_map(|one| late.iter().map(move |other| covariance(one, other))).sum();
    let z = (demanded - observed) / (sum.max(0.0).sqrt() / count);
    (observed.abs() < UNMOVED * demanded && z >= SURELY).then_some(Unmoved { demanded, observed, z })
}

fn is_untouched(before: &Settings, now: &Settings) -> bool {
    let dampers = before.dampers.len() == now.dampers.len()
        && before.dampers.iter().zip(&now.dampers).all(|(before, now)| match (before, now) {
            (Some(before), Some(now)) => (now - before).abs() < DAMPER_TOUCHED_PCT,
            _ => false,
        });
    let steam = match (before.steam, now.steam) {
        (Some(before), Some(now)) => (now - before).abs() <= STEAM_TOUCHED * before.abs(),
        // Without a steam signal the late zones tell as much: steam is zone 1's.
        _ => true,
    };
    dampers && steam
}

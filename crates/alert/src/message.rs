//! The one sentence that a shift lead reads.

use std::fmt::Write;

use normal_profile::Normal;
use physics::air;
use physics::units::HumidityRatio;
use reading::{ShiftCalendar, Window};

use crate::evidence::{Evidence, ZoneEvidence};
use crate::finding::Finding;
use crate::rise::Rise;

/// Moisture by volume, %, of a natural logarithm of kg/kg.
#[must_use]
pub fn moisture_pct(ln_humidity: f64) -> f64 {
    // A logarithm is of a positive number, which is in range.
    air::moisture_from_humidity_ratio(HumidityRatio(ln_humidity.exp())).map_or(f64::NAN, |moisture| moisture.0 * 100.0)
}

/// The zone that says most about the finding.
#[must_use]
pub(crate) fn telling_zone(finding: Finding, evidence: &Evidence) -> Option<&ZoneEvidence> {
    match finding {
        Finding::Carryover | Finding::Zone3Limit => {
            evidence.reached().filter(|zone| zone.zone > 1).max_by(|a, b| a.z().total_cmp(&b.z()))
        }
        Finding::SteamShort => evidence.reached().find(|zone| zone.zone == 1),
        Finding::OverVented => evidence.reached().min_by(|a, b| a.z().total_cmp(&b.z())),
    }
}

/// What a rise has done, in one sentence.
#[must_use]
pub(crate) fn of_rise(
    finding: Finding,
    rise: &Rise,
    evidence: &Evidence,
    normal: Option<&Normal>,
    shifts: &ShiftCalendar,
) -> String {
    let mut text =
        format!("Band up {:.1} % at {}", (rise.ln_change().exp() - 1.0) * 100.0, shifts.wall_clock(rise.began));
    let Some(zone) = telling_zone(finding, evidence) else { return text };
    let (observed, expected) = (moisture_pct(zone.observed), moisture_pct(zone.expected));
    let against = if normal.is_some() { "normal for this speed" } else { "what it held before" };
    let side = if observed >= expected { "above" } else { "below" };
    let difference = (observed - expected).abs();
    // The write goes to a String, which takes everything.
    let _ = write!(text, "; zone {} holds {observed:.1} % vol, {difference:.1} {side} {against}: ", zone.zone);
    text.push_str(match finding {
        Finding::Carryover if zone.zone > 2 => "moisture is being carried past zone 2.",
        Finding::Carryover => "more moisture builds up than the exhaust takes out.",
        Finding::SteamShort => "the steam did not keep up with the load.",
        Finding::OverVented => "the exhaust takes out more than the load brings in.",
        Finding::Zone3Limit => "over the limit.",
    });
    text
}

/// That zone 3 is over its limit, in one sentence.
#[must_use]
pub(crate) fn of_limit(moisture: f64, limit: f64, product: &str, window: &Window, shifts: &ShiftCalendar) -> String {
    let since = shifts.wall_clock(window.starts);
    format!("Zone 3 holds {moisture:.1} % vol since {since}; the limit set for {product} is {limit:.1} % vol.")
}

//! What a late zone may hold before moisture counts as carried over.

use physics::units::MetrePerMinute;
use serde::Serialize;

use super::Question;
use super::profile::moisture_pct;

/// The zones from the third on; in a shorter oven the last.
const FIRST_LATE_ZONE: usize = 2;

/// The most that a zone may hold.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ceiling {
    /// The zone, from 1.
    pub zone: usize,
    /// Moisture, % vol.
    pub moisture_pct: f64,
    /// Where it comes from.
    pub from: &'static str,
}

/// The ceilings of the late zones: the upper end of what is normal, and never above the product's hard limit.
pub(super) fn ceilings(question: &Question<'_>) -> Vec<Ceiling> {
    let record = question.balance.record();
    let zones = record.oven.zones_m.len();
    let usual = question.balance.predict(&record.usual.untouched(record.usual.speed_m_min));
    let normal = question.normal.map(|normal| {
        // Beyond the learned speeds the band widens for want of knowledge, which excuses no moisture.
        let speeds = &normal.record().speeds;
        normal.expect(MetrePerMinute(question.speed_m_min.clamp(speeds.slowest_m_min, speeds.fastest_m_min))).zones
    });
    let ceiling = |zone: usize| {
        let learned =
            normal.as_ref().and_then(|zones| zones.get(zone)).map(|zone| moisture_pct(zone.ln_humidity.high()));
        let of_balance = usual.zones[zone].high_pct;
        let (moisture_pct, from) = match learned {
            Some(learned) if learned >= of_balance => (learned, "upper end of the normal at this speed"),
            _ => (of_balance, "upper end of the usual, by the balance"),
        };
        match question.zone3_limit_pct.filter(|limit| zone == FIRST_LATE_ZONE && *limit < moisture_pct) {
            Some(limit) => {
                Ceiling { zone: zone + 1, moisture_pct: limit, from: "max_zone3_moisture_pct of the product" }
            }
            None => Ceiling { zone: zone + 1, moisture_pct, from },
        }
    };
    (FIRST_LATE_ZONE.min(zones.saturating_sub(1))..zones).map(ceiling).collect()
}

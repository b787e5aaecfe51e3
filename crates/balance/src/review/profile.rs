//! What the zones hold in one way of running, with what it takes.

use normal_profile::Normal;
use physics::air::moisture_from_humidity_ratio;
use physics::units::{HumidityRatio, MetrePerMinute};
use serde::{Deserialize, Serialize};

use super::money::{Energy, Prices};
use crate::balance::Balance;
use crate::running::Running;

/// One zone of a profile.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ZoneProfile {
    /// The zone, from 1.
    pub zone: usize,
    /// Moisture, % vol.
    pub moisture_pct: f64,
    /// Lower end of the band: 90 of 100 of the balance, 95 of 100 of the normal.
    pub low_pct: f64,
    /// Upper end.
    pub high_pct: f64,
}

/// A profile and what it takes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Profile {
    /// Band speed, m/min.
    pub speed_m_min: f64,
    /// What the zones hold.
    pub zones: Vec<ZoneProfile>,
    /// The chance that a late zone is above its ceiling, %.
    pub carryover_chance_pct: f64,
    /// What the dough loses, % of its mass: what it keeps is sold.
    pub bake_loss_pct: f64,
    /// What it takes.
    pub energy: Energy,
}

impl Profile {
    pub(super) fn new(balance: &Balance, running: &Running, limits: &[Option<f64>], prices: &Prices) -> Self {
        let told = balance.predict(running);
        let zone = |(index, zone): (usize, &crate::balance::ZonePrediction)| ZoneProfile {
            zone: index + 1,
            moisture_pct: zone.moisture_pct,
            low_pct: zone.low_pct,
            high_pct: zone.high_pct,
        };
        let dough_kg_h = balance.record().bake.dough_kg_h(running.speed_m_min);
        let lost_kg_h: f64 = told.states.iter().map(|zone| zone.evaporation_kg_h).sum();
        let steam_kg_h = balance.best().usual_steam_kg_h * running.steam_ratio;
        let energy = Energy::of(told.heat_kw(), steam_kg_h, (dough_kg_h - lost_kg_h) / 1000.0, prices);
        Self {
            speed_m_min: running.speed_m_min,
            zones: told.zones.iter().enumerate().map(zone).collect(),
            carryover_chance_pct: 100.0 * told.chance_above(limits),
            bake_loss_pct: 100.0 * lost_kg_h / dough_kg_h,
            energy,
        }
    }

    /// Moisture of a zone (from 1), % vol.
    #[must_use]
    pub fn moisture_pct(&self, zone: usize) -> f64 {
        self.zones.get(zone.wrapping_sub(1)).map_or(f64::NAN, |zone| zone.moisture_pct)
    }
}

/// The normal's own answer at a speed, and by how much that lies outside what it learned, %.
pub(super) fn by_normal(normal: &Normal, speed_m_min: f64) -> (Vec<ZoneProfile>, f64) {
    let expected = normal.expect(MetrePerMinute(speed_m_min));
    let zone = |(index, zone): (usize, &normal_profile::ZoneExpectation)| ZoneProfile {
        zone: index + 1,
        moisture_pct: moisture_pct(zone.ln_humidity.mean),
        low_pct: moisture_pct(zone.ln_humidity.low()),
        high_pct: moisture_pct(zone.ln_humidity.high()),
    };
    let zones = expected.zones.iter().enumerate().map(zone).collect();
    (zones, expected.extrapolating.map_or(0.0, |extrapolation| extrapolation.beyond_pct))
}

/// Moisture by volume, %, from the logarithm of the humidity ratio.
pub(super) fn moisture_pct(ln_humidity: f64) -> f64 {
    moisture_from_humidity_ratio(HumidityRatio(ln_humidity.exp())).map_or(f64::NAN, |moisture| 100.0 * moisture.0)
}

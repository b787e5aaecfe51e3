//! A learned balance, asked what the zones hold when the oven is run in some way.

use normal_profile::NormalKey;
use normal_profile::statistics::chi_square_tail;
use physics::air::moisture_from_humidity_ratio;
use physics::units::HumidityRatio;
use reading::Window;

use crate::learned::Learned;
use crate::record::BalanceRecord;
use crate::running::Running;
use crate::settings::Ambient;
use crate::steady::SteadyBlock;
use crate::water::{WaterBalance, ZoneState};

/// Standard deviations on either side that hold 90 of 100.
const NINETY: f64 = 1.645;

/// A learned balance of a product in an oven.
#[derive(Debug, Clone)]
pub struct Balance {
    record: BalanceRecord,
    best: Learned,
    replicates: Vec<Learned>,
}

/// What the zones hold when the oven is run in some way.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// How it is run.
    pub running: Running,
    /// What its zones hold, as their probes would show it.
    pub zones: Vec<ZonePrediction>,
    /// Water and heat of every zone in the best fit.
    pub states: Vec<ZoneState>,
    /// By how much the speed lies outside those of history, % of the nearest of them; 0 inside.
    pub outside_pct: f64,
    /// ln humidity as each replicate has it, replicate by replicate and zone by zone.
    ln_humidity: Vec<Vec<f64>>,
    scatter: Vec<f64>,
}

/// What one zone holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZonePrediction {
    /// Moisture, % vol.
    pub moisture_pct: f64,
    /// Lower end of the band that holds 90 of 100 steady stretches.
    pub low_pct: f64,
    /// Upper end.
    pub high_pct: f64,
}

impl Balance {
    pub(crate) fn from_parts(record: BalanceRecord) -> Self {
        let learned = |fitted: &[f64]| {
            let unknowns: Vec<_> = record.estimates.iter().map(|estimate| estimate.unknown).collect();
            let values: Vec<f64> =
                unknowns.iter().zip(fitted).map(|(unknown, value)| unknown.in_unit(*value)).collect();
            Learned::new(&unknowns, &values, &record.usual)
        };
        let best = learned(&record.fitted);
        let replicates = record.replicates.iter().map(|replicate| learned(&replicate.fitted)).collect();
        Self { record, best, replicates }
    }

    /// Everything that was learned.
    #[must_use]
    pub fn record(&self) -> &BalanceRecord {
        &self.record
    }

    /// The normal that was learned from the same history.
    #[must_use]
    pub fn key(&self) -> &NormalKey {
        &self.record.key
    }

    /// The best fit.
    #[must_use]
    pub fn best(&self) -> &Learned {
        &self.best
    }

    /// What the zones hold when the oven is run so, at rest, with a band of 90 of 100.
    #[must_use]
    pub fn predict(&self, running: &Running) -> Prediction {
        let usual = &self.record.usual;
        let ambient_humidity = running.ambient_humidity.unwrap_or_else(|| usual.ambient_humidity());
        let states = self.solve(&self.best, ambient_humidity, running);
        let replicate = |(learned, replicate): (&Learned, &crate::record::Replicate)| {
            let ambient_humidity = match (running.ambient_humidity, usual.ambient) {
                (None, _) => replicate.hall,
                // The sensors are off by now what they were off then.
                (Some(now), Some(usual)) => now + replicate.hall - usual.humidity,
                (Some(now), None) => now,
            };
            let zones = self.solve(learned, ambient_humidity, running);
            zones.iter().zip(&replicate.probe).map(|(zone, probe)| zone.humidity.0.max(1e-4).ln() + probe).collect()
        };
        let ln_humidity: Vec<Vec<f64>> = self.replicates.iter().zip(&self.record.replicates).map(replicate).collect();
        // Where the air of history was measured its weather is no part of the scatter, and comes upon it unless today's is known.
        let weather = usual.ambient.filter(|_| running.ambient_humidity.is_none()).map_or(0.0, |air| air.spread);
        let scatter = states.iter().zip(&self.record.scatter);
        let scatter: Vec<f64> =
            scatter.map(|(state, scatter)| scatter.hypot(weather / state.humidity.0.max(1e-4))).collect();
        let zone = |(zone, state): (usize, &ZoneState)| {
            let spread = variance(&ln_humidity, zone).sqrt().hypot(scatter[zone]);
            let at = |deviations: f64| moisture_pct(state.humidity.0 * (deviations * spread).exp());
            ZonePrediction { moisture_pct: at(0.0), low_pct: at(-NINETY), high_pct: at(NINETY) }
        };
        Prediction {
            running: running.clone(),
            zones: states.iter().enumerate().map(zone).collect(),
            states,
            outside_pct: self.outside_pct(running.speed_m_min),
            ln_humidity,
            scatter,
        }
    }

    /// Dry air that the exhaust of each zone drew in a window, kg/h; none if its band speed is not known, or the oven has
    /// other zones now.
    #[must_use]
    pub fn exhaust_kg_h(&self, window: &Window) -> Option<Vec<f64>> {
        let known = window.band_speed.is_some() && window.zones.len() == self.record.oven.zones_m.len();
        let block = known.then(|| SteadyBlock::of(std::slice::from_ref(window), 0))?;
        Some(self.best.settings(&self.record.usual.of_block(&block)).exhaust_kg_h)
    }

    /// By how much a band speed lies outside those of history, % of the nearest of them; 0 inside.
    #[must_use]
    pub fn outside_pct(&self, speed_m_min: f64) -> f64 {
        let (slowest, fastest) = (self.record.data.slowest_m_min, self.record.data.fastest_m_min);
        100.0 * (speed_m_min / fastest - 1.0).max(1.0 - speed_m_min / slowest).max(0.0)
    }

    /// The same oven longer by a factor above 0: every zone, and with it its exhaust.
    #[must_use]
    pub fn lengthened(&self, factor: f64) -> Self {
        let mut longer = self.clone();
        longer.record.oven.zones_m.iter_mut().for_each(|length| *length *= factor);
        for learned in longer.replicates.iter_mut().chain([&mut longer.best]) {
            learned.exhaust.iter_mut().for_each(|exhaust| exhaust.usual_kg_h *= factor);
        }
        longer
    }

    fn solve(&self, learned: &Learned, ambient_humidity: f64, running: &Running) -> Vec<ZoneState> {
        let ambient = Ambient::holding(ambient_humidity);
        let balance = WaterBalance::new(&self.record.oven, &self.record.bake, &learned.parameters, ambient);
        // A product that cannot be balanced was refused before anything was learned.
        balance.map(|balance| balance.solve(running.speed_m_min, &learned.settings(running))).unwrap_or_default()
    }
}

impl Prediction {
    /// The chance that a zone holds more than its ceiling (% vol); zones without a ceiling do not count.
    #[must_use]
    pub fn chance_above(&self, ceilings_pct: &[Option<f64>]) -> f64 {
        let kept = |zones: &Vec<f64>| -> f64 {
            let each = zones.iter().zip(ceilings_pct).zip(&self.scatter);
            each.map(|((ln_humidity, ceiling), scatter)| {
                ceiling.map_or(1.0, |ceiling| below((ln_of(ceiling) - ln_humidity) / scatter))
            })
            .product()
        };
        1.0 - self.ln_humidity.iter().map(kept).sum::<f64>() / self.ln_humidity.len().max(1) as f64
    }

    /// Heat that all zones need, kW.
    #[must_use]
    pub fn heat_kw(&self) -> f64 {
        self.states.iter().map(ZoneState::heat_kw).sum()
    }
}

fn variance(rows: &[Vec<f64>], zone: usize) -> f64 {
    let count = rows.len().max(1) as f64;
    let mean = rows.iter().map(|row| row[zone]).sum::<f64>() / count;
    rows.iter().map(|row| (row[zone] - mean).powi(2)).sum::<f64>() / count
}

/// Share of the standard normal distribution below so many standard deviations.
fn below(deviations: f64) -> f64 {
    let tail = 0.5 * chi_square_tail(deviations * deviations, 1);
    if deviations < 0.0 { tail } else { 1.0 - tail }
}

fn moisture_pct(humidity: f64) -> f64 {
    moisture_from_humidity_ratio(HumidityRatio(humidity.max(0.0))).map_or(f64::NAN, |moisture| 100.0 * moisture.0)
}

fn ln_of(moisture_pct: f64) -> f64 {
    let share = (moisture_pct / 100.0).clamp(1e-6, 0.999);
    (physics::air::WATER_TO_AIR_MASS * share / (1.0 - share)).ln()
}

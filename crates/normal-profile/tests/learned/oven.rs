//! An invented oven: windows of baking with a known practice, crews, drift and noise.

use normal_profile::{NormalKey, Observation, RiseChange};
use physics::units::MetrePerMinute;
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256Plus;

/// How the invented oven is run.
#[derive(Clone)]
pub(crate) struct Oven {
    /// ln humidity at 1.25 m/min, one per zone.
    pub(crate) ln_humidity: Vec<f64>,
    /// Change of ln humidity per ln speed.
    pub(crate) slope: Vec<f64>,
    /// What the second crew adds to ln humidity; it runs every other run.
    pub(crate) second_crew: Vec<f64>,
    /// Standard deviation of the slow wander of a zone, which is forgotten within 10 min.
    pub(crate) wander: f64,
    /// Standard deviation of what a single window adds.
    pub(crate) noise: f64,
    /// Speeds, m/min, taken in turn for 40 min each.
    pub(crate) speeds: Vec<f64>,
}

pub(crate) const REFERENCE_SPEED: f64 = 1.25;
const RUN_WINDOWS: usize = 240;
const SPEED_WINDOWS: usize = 80;

impl Oven {
    /// A steamed profile: peak in zone 1, falling after it.
    pub(crate) fn with_zones(zones: usize) -> Self {
        Self {
            ln_humidity: (0..zones).map(|zone| (0.35 * 0.75f64.powi(zone as i32)).ln()).collect(),
            slope: (0..zones).map(|zone| 0.1 + 0.05 * zone as f64).collect(),
            second_crew: vec![0.0; zones],
            wander: 0.02,
            noise: 0.008,
            speeds: vec![1.25, 1.32, 1.18, 1.40, 1.28, 1.10],
        }
    }

    /// `windows` windows of 30 s of good baking.
    pub(crate) fn windows(&self, windows: usize, seed: u64) -> Vec<Observation> {
        let mut random = Xoshiro256Plus::seed_from_u64(seed);
        let zones = self.ln_humidity.len();
        let memory: f64 = 0.95;
        let mut wander = vec![0.0; zones];
        (0..windows)
            .map(|at| {
                let run = at / RUN_WINDOWS;
                let speed = self.speeds[at / SPEED_WINDOWS % self.speeds.len()] * (1.0 + 0.001 * normal(&mut random));
                let ln_speed = (speed / REFERENCE_SPEED).ln();
                for zone in &mut wander {
                    *zone = memory * *zone + (1.0 - memory * memory).sqrt() * self.wander * normal(&mut random);
                }
                let ln_humidity = (0..zones)
                    .map(|zone| {
                        let crew = if run % 2 == 1 { self.second_crew[zone] } else { 0.0 };
                        let noise = self.noise * normal(&mut random);
                        self.ln_humidity[zone] + self.slope[zone] * ln_speed + crew + wander[zone] + noise
                    })
                    .collect();
                let temperature =
                    (0..zones).map(|zone| 220.0 + 8.0 * zone as f64 + 15.0 * ln_speed + normal(&mut random)).collect();
                Observation {
                    time_us: 1_760_000_000_000_000 + at as i64 * 30_000_000,
                    run: run as u32,
                    speed: MetrePerMinute(speed),
                    ln_humidity,
                    temperature,
                }
            })
            .collect()
    }

    /// `count` rises that the crews met, the last `unmatched` of them met by nobody.
    pub(crate) fn rises(&self, count: usize, unmatched: usize, seed: u64) -> Vec<RiseChange> {
        let mut random = Xoshiro256Plus::seed_from_u64(seed);
        (0..count)
            .map(|at| {
                let ln_speed_change = random.gen_range(0.02..0.15);
                let is_unmatched = at >= count - unmatched;
                let change = |zone: usize, random: &mut Xoshiro256Plus| {
                    let slope = if is_unmatched { 1.5 } else { self.slope[zone] };
                    slope * ln_speed_change + 0.015 * normal(random)
                };
                let mut changes = || (0..self.slope.len()).map(|zone| change(zone, &mut random)).collect();
                let (ln_humidity_change, settled_ln_humidity_change) = (changes(), changes());
                RiseChange {
                    began_us: 1_760_000_000_000_000 + at as i64 * 3_600_000_000,
                    ln_speed_change,
                    ln_humidity_change,
                    settled_ln_humidity_change,
                }
            })
            .collect()
    }
}

/// A standard normal number, by Box and Muller.
pub(crate) fn normal(random: &mut Xoshiro256Plus) -> f64 {
    let (radius, angle): (f64, f64) = (random.gen_range(f64::MIN_POSITIVE..1.0), random.gen_range(0.0..1.0));
    (-2.0 * radius.ln()).sqrt() * (std::f64::consts::TAU * angle).cos()
}

pub(crate) fn key() -> NormalKey {
    NormalKey { site: "millbrook".into(), line: "tunnel-1".into(), product: "T800".into(), version: 3 }
}

//! How far a window departs from the normal, and which zones make the distance.

use physics::units::MetrePerMinute;
use serde::{Deserialize, Serialize};

use crate::Normal;
use crate::mixture::log_sum_exp;
use crate::observation::{Observation, Quantity};
use crate::regression::AtSpeed;
use crate::statistics::{Cusum, chi_square_tail, normal_score, quantile};

/// The part that one zone has in a departure.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct ZoneContribution {
    /// Part of the squared distance that the zone's humidity makes. The parts of all zones add up
    /// to the squared distance; one can be negative where it bears out another.
    pub ln_humidity: f64,
    /// The same for its air temperature.
    pub temperature: f64,
    /// ln humidity above normal in standard deviations, taken by itself; none if it is not known.
    pub ln_humidity_z: Option<f64>,
    /// Air temperature above normal in standard deviations; none if it is not known.
    pub temperature_z: Option<f64>,
}

/// How far a window departs from the normal at its speed.
#[derive(Debug, Clone, PartialEq)]
pub struct Departure {
    /// The nearest way of running, from 0.
    pub component: usize,
    /// Squared Mahalanobis distance to it, given the speed.
    pub distance_squared: f64,
    /// Number of quantities compared: the degrees of freedom of the two chi-square values. 0 if the
    /// window has none of the normal's quantities.
    pub degrees: usize,
    /// Squared distance to the mixture: −2 ln Σ share · exp(−½ distance²). A chi-square-like value that
    /// also counts how seldom the nearest way of running is seen at this speed.
    pub mixture_score: f64,
    /// Probability that a window of the nearest way of running lies farther out, 0 to 1.
    pub tail_probability: f64,
    /// The mixture score on the scale of a standard normal, as a CUSUM wants it.
    pub normal_score: f64,
    /// One per zone.
    pub zones: Vec<ZoneContribution>,
}

/// Where the scores of the windows learned from lie: `(probability, mixture score)`.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Calibration {
    /// Quantiles over the windows kept.
    pub kept: Vec<(f64, f64)>,
    /// Quantiles over all usable windows, those taken for bad hours included.
    pub all: Vec<(f64, f64)>,
    /// How far the cumulative sum of standard scores rose over the windows kept, at most.
    pub excursion: f64,
}

/// The probabilities of the calibration.
const PROBABILITIES: [f64; 8] = [0.05, 0.25, 0.5, 0.75, 0.95, 0.99, 0.995, 0.999];
/// Standard deviations above the usual score that a window may have without adding to the sum.
pub const ALLOWANCE: f64 = 1.0;
/// No window counts for more standard deviations: one odd window is no departure that lasts.
const MOST: f64 = 6.0;
/// The sum must rise this many times as far as it ever did while the oven ran well.
const BEYOND_HISTORY: f64 = 3.0;
/// And no less than this, in standard deviations times windows: two and a half hours of windows at 2 above the allowance.
const LEAST_LIMIT: f64 = 600.0;

impl Calibration {
    pub(crate) fn of(scores: &[f64], kept: &[bool], runs: &[u32]) -> Self {
        let quantiles = |scores: &[f64]| PROBABILITIES.iter().map(|&p| (p, quantile(scores, p))).collect();
        let of_kept = || scores.iter().zip(runs).zip(kept).filter(|(_, kept)| **kept).map(|(window, _)| window);
        let kept: Vec<f64> = of_kept().map(|(score, _)| *score).collect();
        let mut calibration = Self { kept: quantiles(&kept), all: quantiles(scores), excursion: 0.0 };
        let (mut cusum, mut last_run) = (Cusum::new(ALLOWANCE), None);
        for (score, run) in of_kept() {
            if last_run != Some(run) {
                cusum.reset();
            }
            last_run = Some(run);
            let sum = cusum.observe(calibration.standard(*score));
            calibration.excursion = calibration.excursion.max(sum);
        }
        calibration
    }

    /// The score that this share of the windows kept does not exceed; none for a share that was not noted.
    pub(crate) fn of_kept(&self, probability: f64) -> Option<f64> {
        self.kept.iter().find(|(noted, _)| *noted == probability).map(|(_, score)| *score)
    }

    /// A mixture score in standard deviations above the usual one of the windows kept: the scores of
    /// real windows have a heavier tail than chi-square, and this takes it into account.
    fn standard(&self, score: f64) -> f64 {
        let (Some(middle), Some(high)) = (self.of_kept(0.5), self.of_kept(0.95)) else { return 0.0 };
        // 95 % of a normal distribution lie below 1.645 standard deviations.
        let spread = ((high - middle) / 1.645).max(f64::MIN_POSITIVE);
        ((score - middle) / spread).clamp(-MOST, MOST)
    }
}

impl Normal {
    /// How far a window departs from the normal at its speed. Quantities that the window lacks are
    /// left out of the comparison; a speed outside the learned ones is met with a wider band.
    pub fn departure(&self, observation: &Observation) -> Departure {
        let vector = self.record.columns.vector(observation);
        let at = self.regression.at(observation.speed);
        let Distances { known, nearest, mixture_score } = distances(&at, &vector);
        let degrees = known.len();
        let zones = self.contributions(&at, &vector, &known, &nearest.parts);
        Departure {
            component: nearest.component,
            distance_squared: nearest.distance_squared,
            degrees,
            mixture_score,
            tail_probability: if degrees == 0 { 1.0 } else { chi_square_tail(nearest.distance_squared, degrees) },
            normal_score: if degrees == 0 { 0.0 } else { normal_score(mixture_score, degrees) },
            zones,
        }
    }

    /// A departure in standard deviations above the usual one, as [`Cusum`] with [`ALLOWANCE`] takes it.
    /// A window that lacks quantities scores lower, never higher.
    #[must_use]
    pub fn standard_score(&self, departure: &Departure) -> f64 {
        self.record.calibration.standard(departure.mixture_score)
    }

    /// The cumulative sum of standard scores from which the oven no longer runs as it was learned.
    #[must_use]
    pub fn departure_limit(&self) -> f64 {
        (BEYOND_HISTORY * self.record.calibration.excursion).max(LEAST_LIMIT)
    }

    /// The mixture score of a whole vector, ln speed last.
    pub(crate) fn score(&self, vector: &[f64]) -> f64 {
        let speed = MetrePerMinute(vector.last().map_or(f64::NAN, |ln_speed| ln_speed.exp()));
        distances(&self.regression.at(speed), vector).mixture_score
    }

    fn contributions(&self, at: &AtSpeed<'_>, vector: &[f64], known: &[usize], parts: &[f64]) -> Vec<ZoneContribution> {
        let (mean, variance) = at.mean_and_variance();
        let quantities: Vec<Quantity> = self.record.columns.quantities().collect();
        let mut zones = vec![ZoneContribution::default(); self.record.columns.zones];
        for (&index, &part) in known.iter().zip(parts) {
            let z = Some((vector[index] - mean[index]) / variance[index].sqrt());
            match quantities[index] {
                Quantity::LnHumidity(zone) => (zones[zone].ln_humidity, zones[zone].ln_humidity_z) = (part, z),
                Quantity::Temperature(zone) => (zones[zone].temperature, zones[zone].temperature_z) = (part, z),
            }
        }
        zones
    }
}

/// A vector held against every way of running.
struct Distances {
    /// Indices of the quantities that the vector has.
    known: Vec<usize>,
    nearest: Nearest,
    mixture_score: f64,
}

struct Nearest {
    component: usize,
    distance_squared: f64,
    /// What each known quantity adds to the squared distance.
    parts: Vec<f64>,
}

fn distances(at: &AtSpeed<'_>, vector: &[f64]) -> Distances {
    let known: Vec<usize> = (0..vector.len() - 1).filter(|&index| vector[index].is_finite()).collect();
    let mut nearest = Nearest { component: 0, distance_squared: f64::INFINITY, parts: Vec::new() };
    let mut exponents = Vec::with_capacity(at.ln_shares.len());
    for (component, ln_share) in at.ln_shares.iter().enumerate() {
        let mean = at.branch_mean(component);
        let difference: Vec<f64> = known.iter().map(|&index| vector[index] - mean[index]).collect();
        // The covariance was factored when the normal was made; any part of it factors as well.
        let Ok(pull) = at.branch_factor(component, &known).and_then(|factor| factor.solve(&difference)) else {
            continue;
        };
        let parts: Vec<f64> = difference.iter().zip(&pull).map(|(value, pull)| value * pull).collect();
        let distance_squared: f64 = parts.iter().sum();
        exponents.push(ln_share - 0.5 * distance_squared);
        if distance_squared < nearest.distance_squared {
            nearest = Nearest { component, distance_squared, parts };
        }
    }
    let mixture_score = -2.0 * log_sum_exp(&exponents);
    Distances { known, nearest, mixture_score }
}

//! How far the balance misses history: what the fit makes small.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};

use crate::bake::Bake;
use crate::learned::Learned;
use crate::oven::Oven;
use crate::running::{Running, Usual};
use crate::settings::Ambient;
use crate::steady::SteadyBlock;
use crate::unknown::{Practice, Unknown};
use crate::water::WaterBalance;

/// Spread of ln humidity of a steady block about the balance in known air: probes wander, crews move, air leaks.
const SPREAD: f64 = 0.03;
/// From so many spreads on a miss pulls less than it is off.
const SOFT_BEYOND: f64 = 1.5;
/// Step of the differences that the slopes are taken from, on the scale of the unknowns.
const STEP: f64 = 1e-5;

/// What is held against what.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Study<'a> {
    pub(crate) oven: &'a Oven,
    pub(crate) bake: &'a Bake,
    pub(crate) usual: &'a Usual,
    pub(crate) unknowns: &'a [Unknown],
    pub(crate) practice: &'a [Practice],
    /// Each block with how it was run.
    pub(crate) blocks: &'a [(&'a SteadyBlock, Running)],
}

/// One fit: the data as they are, or as they might as well have been.
#[derive(Debug, Clone)]
pub(crate) struct Chance {
    /// How often each block counts.
    pub(crate) weights: Vec<f64>,
    /// By how much each zone's probe shows too much, ln.
    pub(crate) probe: Vec<f64>,
    /// Humidity of the hall as usual, kg/kg.
    pub(crate) hall: f64,
    /// Common practice for each unknown, on its scale.
    pub(crate) centres: Vec<f64>,
}

struct Misfit<'a> {
    study: Study<'a>,
    chance: &'a Chance,
    fitted: DVector<f64>,
}

/// The values, on their scales, that fit best, by Levenberg and Marquardt's method.
pub(crate) fn fit(study: Study<'_>, chance: &Chance, start: &[f64]) -> Vec<f64> {
    let problem = Misfit { study, chance, fitted: DVector::from_column_slice(start) };
    let method = LevenbergMarquardt::new().with_ftol(1e-8).with_xtol(1e-8).with_patience(20);
    let (found, _) = method.minimize(problem);
    found.study.within(found.fitted.as_slice())
}

impl Study<'_> {
    /// Values within their limits.
    fn within(&self, fitted: &[f64]) -> Vec<f64> {
        fitted.iter().zip(self.practice).map(|(value, practice)| practice.within(*value)).collect()
    }

    pub(crate) fn learned(&self, fitted: &[f64]) -> Learned {
        let values: Vec<f64> =
            self.unknowns.iter().zip(self.within(fitted)).map(|(unknown, value)| unknown.in_unit(value)).collect();
        Learned::new(self.unknowns, &values, self.usual)
    }

    /// ln humidity measured less ln humidity of the balance, block by block and zone by zone; NaN where not measured.
    pub(crate) fn residuals(&self, fitted: &[f64], chance: &Chance) -> Vec<Vec<f64>> {
        let learned = self.learned(fitted);
        let usual = Ambient::holding(chance.hall);
        let Ok(balance) = WaterBalance::new(self.oven, self.bake, &learned.parameters, usual) else {
            return Vec::new();
        };
        // Where the air was measured, drawing it anew draws an error of its sensors.
        let off = self.usual.ambient.map_or(0.0, |air| chance.hall - air.humidity);
        let of_block = |(block, running): &(&SteadyBlock, Running)| {
            let ambient = running.ambient_humidity.map_or(usual, |humidity| Ambient::holding(humidity + off));
            let zones = balance.in_air(ambient).solve(block.speed_m_min, &learned.settings(running));
            let each = zones.iter().zip(&block.ln_humidity).zip(&chance.probe);
            each.map(|((zone, measured), probe)| measured - probe - zone.humidity.0.max(1e-4).ln()).collect()
        };
        self.blocks.iter().map(of_block).collect()
    }
}

/// A miss by a few spreads pulls as far as it is off, a larger one less and less (pseudo-Huber): bad hours and a probe
/// that drifts do not bend the fit.
fn softened(spreads: f64) -> f64 {
    let beyond = (1.0 + (spreads / SOFT_BEYOND).powi(2)).sqrt() - 1.0;
    spreads.signum() * SOFT_BEYOND * (2.0 * beyond).sqrt()
}

impl Misfit<'_> {
    fn at(&self, fitted: &DVector<f64>) -> DVector<f64> {
        let residuals = self.study.residuals(fitted.as_slice(), self.chance);
        let mut all = Vec::new();
        let mut from = 0;
        for run in self.study.blocks.chunk_by(|(one, _), (other, _)| one.run == other.run) {
            let to = from + run.len();
            // A run is drawn as a whole, so that its first block counts as often as any.
            let weight = self.chance.weights[from].sqrt();
            all.extend(
                misses_of_run(run, residuals.get(from..to).unwrap_or_default()).into_iter().map(|miss| weight * miss),
            );
            from = to;
        }
        let practice = fitted.iter().zip(self.study.practice).zip(&self.chance.centres);
        all.extend(practice.map(|((value, practice), centre)| (value - centre) / practice.spread));
        DVector::from_vec(all)
    }
}

/// What a run misses, in spreads, zone by zone of each block, and last how far off its weather is.
///
/// Where nobody measures the air of the hall, a run lies in one weather, which moves all its zones alike: by as much as
/// the hall's humidity, and so most, in proportion, where it is dry. Taken for chance in each block, a sultry afternoon
/// bends the drying curve; so it is taken out of the run, as far as such weather is likely.
fn misses_of_run(run: &[(&SteadyBlock, Running)], residuals: &[Vec<f64>]) -> Vec<f64> {
    let (mut misses, mut by_weather) = (Vec::new(), Vec::new());
    for ((block, running), residuals) in run.iter().zip(residuals) {
        let weather = if running.ambient_humidity.is_some() { 0.0 } else { Ambient::HALL_SPREAD };
        for (off, ln_humidity) in residuals.iter().zip(&block.ln_humidity) {
            // What is not measured pulls nowhere.
            let known = off.is_finite();
            misses.push(if known { off / SPREAD } else { 0.0 });
            by_weather.push(if known { weather / ln_humidity.exp() / SPREAD } else { 0.0 });
        }
    }
    let likely = misses.iter().zip(&by_weather).map(|(miss, by)| miss * by).sum::<f64>()
        / (1.0 + by_weather.iter().map(|by| by * by).sum::<f64>());
    let rest = misses.iter().zip(&by_weather).map(|(miss, by)| softened(miss - by * likely));
    rest.chain([likely]).collect()
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Misfit<'_> {
    type ParameterStorage = Owned<f64, Dyn>;
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;

    fn set_params(&mut self, fitted: &DVector<f64>) {
        self.fitted.copy_from(fitted);
    }

    fn params(&self) -> DVector<f64> {
        self.fitted.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(self.at(&self.fitted))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let here = self.at(&self.fitted);
        let mut slopes = DMatrix::zeros(here.len(), self.fitted.len());
        let mut moved = self.fitted.clone();
        for column in 0..self.fitted.len() {
            moved[column] += STEP;
            slopes.set_column(column, &((self.at(&moved) - &here) / STEP));
            moved[column] = self.fitted[column];
        }
        Some(slopes)
    }
}

//! How far the balance misses history: what the fit makes small.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};
use physics::units::HumidityRatio;

use crate::bake::Bake;
use crate::learned::Learned;
use crate::oven::Oven;
use crate::running::{Running, Usual};
use crate::settings::Ambient;
use crate::steady::SteadyBlock;
use crate::unknown::{Practice, Unknown};
use crate::water::WaterBalance;

/// Spread of ln humidity of a steady block about the balance: probes wander, crews move, air leaks.
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
    /// Humidity of the hall, kg/kg.
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
    pub(crate) fn residuals(&self, fitted: &[f64], hall: f64, probe: &[f64]) -> Vec<Vec<f64>> {
        let learned = self.learned(fitted);
        let ambient = Ambient { humidity: HumidityRatio(hall), ..Ambient::HALL };
        let Ok(balance) = WaterBalance::new(self.oven, self.bake, &learned.parameters, ambient) else {
            return Vec::new();
        };
        let of_block = |(block, running): &(&SteadyBlock, Running)| {
            let zones = balance.solve(block.speed_m_min, &learned.settings(running));
            let each = zones.iter().zip(&block.ln_humidity).zip(probe);
            each.map(|((zone, measured), probe)| measured - probe - zone.humidity.0.max(1e-4).ln()).collect()
        };
        self.blocks.iter().map(of_block).collect()
    }
}

/// Spread of a zone of this ln humidity: the weather in the hall, which nobody measures, weighs most in dry zones.
fn spread(ln_humidity: f64) -> f64 {
    SPREAD.hypot(Ambient::HALL_SPREAD / ln_humidity.exp())
}

/// A miss by a few spreads pulls as far as it is off, a larger one less and less (pseudo-Huber): bad hours and a probe
/// that drifts do not bend the fit.
fn softened(spreads: f64) -> f64 {
    let beyond = (1.0 + (spreads / SOFT_BEYOND).powi(2)).sqrt() - 1.0;
    spreads.signum() * SOFT_BEYOND * (2.0 * beyond).sqrt()
}

impl Misfit<'_> {
    fn at(&self, fitted: &DVector<f64>) -> DVector<f64> {
        let residuals = self.study.residuals(fitted.as_slice(), self.chance.hall, &self.chance.probe);
        let blocks = residuals.iter().zip(self.study.blocks).zip(&self.chance.weights);
        let data = blocks.flat_map(|((residuals, (block, _)), weight)| {
            residuals.iter().zip(&block.ln_humidity).map(move |(off, ln_humidity)| {
                // What is not measured pulls nowhere.
                if off.is_finite() { weight.sqrt() * softened(off / spread(*ln_humidity)) } else { 0.0 }
            })
        });
        let practice = fitted.iter().zip(self.study.practice).zip(&self.chance.centres);
        let practice = practice.map(|((value, practice), centre)| (value - centre) / practice.spread);
        DVector::from_iterator(residuals.iter().map(Vec::len).sum::<usize>() + fitted.len(), data.chain(practice))
    }
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

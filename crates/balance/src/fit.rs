//! Learns the balance of a product in an oven from the steady stretches of its history.

mod replicates;

use std::collections::BTreeSet;

use normal_profile::NormalKey;
use normal_profile::statistics::{median, quantile, robust_spread};
use physics::OutOfRange;
use physics::units::{Celsius, HumidityRatio};
use thiserror::Error;

use crate::bake::Bake;
use crate::balance::Balance;
use crate::learned::Learned;
use crate::misfit::{Chance, Study, fit};
use crate::oven::Oven;
use crate::record::{BalanceData, BalanceRecord, Estimate, Replicate};
use crate::running::{Running, Usual};
use crate::settings::Ambient;
use crate::steady::SteadyBlock;
use crate::unknown::{Practice, Unknown};
use crate::untold::untold;
use crate::water::WaterBalance;

/// Fewer steady blocks, or from fewer runs, teach nothing.
const FEWEST_BLOCKS: usize = 12;
const FEWEST_RUNS: usize = 2;
/// More blocks than this are thinned evenly: they would cost time and tell nothing new.
const MOST_BLOCKS: usize = 120;
/// A block that the balance misses by more robust standard deviations than this is left out: a bad hour.
const FAR_OFF: f64 = 4.5;
/// No probe repeats itself better than this, ln.
const LEAST_SCATTER: f64 = 0.01;

/// How the balance is learned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FitSettings {
    /// Seed of the replicates: the same seed and history give the same balance.
    pub seed: u64,
    /// How many replicates the intervals rest on, 20 to 1000.
    pub replicates: usize,
}

impl Default for FitSettings {
    fn default() -> Self {
        Self { seed: 1, replicates: 100 }
    }
}

/// Why no balance was learned, and what would be needed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum CannotFit {
    /// Too little of history was at rest.
    #[error(
        "{blocks} stretches of up to 10 min at rest in {runs} runs; at least {FEWEST_BLOCKS} in {FEWEST_RUNS} runs are \
         needed: the band at one speed for a bake time and 10 min, dampers and steam untouched"
    )]
    TooLittle {
        /// Steady blocks found.
        blocks: usize,
        /// Runs they lie in.
        runs: usize,
    },
    /// A zone without humidity.
    #[error(
        "zone {zone} has no humidity in most of the stretches at rest: its signal dew_point, moisture or humidity_ratio is missing"
    )]
    SilentZone {
        /// The zone, from 1.
        zone: usize,
    },
    /// A figure of the product that no dough has.
    #[error("the product cannot be balanced: {0}")]
    Bake(#[from] OutOfRange),
}

/// Learns the balance that belongs to a normal from steady blocks of its history.
///
/// # Errors
/// Too little history, a zone without humidity, or a product with impossible figures.
pub fn learn_balance(
    key: NormalKey,
    oven: &Oven,
    bake: &Bake,
    blocks: &[SteadyBlock],
    settings: FitSettings,
) -> Result<Balance, CannotFit> {
    let every = blocks.len().div_ceil(MOST_BLOCKS).max(1);
    let blocks: Vec<&SteadyBlock> = blocks.iter().step_by(every).collect();
    let zones = oven.zones_m.len();
    refuse(&blocks, zones)?;
    let usual = Usual::of(&blocks, zones, bake.dough_kg_per_m);
    let (dampers, steam_flow) = (usual.openings.is_some(), usual.steam_kg_h.is_some());
    let unknowns = Unknown::all(zones, dampers, steam_flow);
    let exhaust = first_exhaust(oven, bake, &usual, &blocks)?;
    let practice: Vec<Practice> = unknowns.iter().map(|unknown| unknown.practice(bake, &exhaust)).collect();
    let run = |block: &'_ SteadyBlock| usual.of_block(block);
    let pairs: Vec<(&SteadyBlock, Running)> = blocks.iter().map(|block| (*block, run(block))).collect();
    let study_of = |blocks| Study { oven, bake, usual: &usual, unknowns: &unknowns, practice: &practice, blocks };

    let measured = |blocks: usize| Chance::as_measured(&practice, blocks, zones, usual.ambient_humidity());
    let first = fit(study_of(&pairs), &measured(pairs.len()), &centres(&practice));
    let far = far_off(&study_of(&pairs).residuals(&first, &measured(pairs.len())));
    let near = pairs.iter().zip(far).filter(|(_, far)| !far);
    let near: Vec<(&SteadyBlock, Running)> = near.map(|(pair, _)| pair.clone()).collect();
    let study = study_of(&near);
    let fitted = fit(study, &measured(near.len()), &first);
    let residuals = study.residuals(&fitted, &measured(near.len()));
    let scatter = (0..zones).map(|zone| robust_spread(&column(&residuals, zone)).max(LEAST_SCATTER)).collect();

    let replicates = replicates::replicates(study, &fitted, settings);
    let estimates = estimates(&study, &fitted, &replicates);
    let data = data(&near, pairs.len());
    let untold = untold(&estimates, &usual, &data);
    Ok(Balance::from_parts(BalanceRecord {
        key,
        program_version: env!("CARGO_PKG_VERSION").into(),
        seed: settings.seed,
        data,
        oven: oven.clone(),
        bake: *bake,
        usual: usual.clone(),
        estimates,
        untold,
        scatter,
        fitted,
        replicates,
    }))
}

fn refuse(blocks: &[&SteadyBlock], zones: usize) -> Result<(), CannotFit> {
    let runs: BTreeSet<u32> = blocks.iter().map(|block| block.run).collect();
    if blocks.len() < FEWEST_BLOCKS || runs.len() < FEWEST_RUNS {
        return Err(CannotFit::TooLittle { blocks: blocks.len(), runs: runs.len() });
    }
    let silent = |zone: &usize| {
        let known = blocks.iter().filter(|block| block.ln_humidity.get(*zone).is_some_and(|w| w.is_finite()));
        2 * known.count() < blocks.len()
    };
    (0..zones).find(silent).map_or(Ok(()), |zone| Err(CannotFit::SilentZone { zone: zone + 1 }))
}

/// The exhaust that closes the balance in the middle of history with everything else at common practice.
fn first_exhaust(oven: &Oven, bake: &Bake, usual: &Usual, blocks: &[&SteadyBlock]) -> Result<Vec<f64>, OutOfRange> {
    let zones = oven.zones_m.len();
    let unknowns = Unknown::all(zones, usual.openings.is_some(), usual.steam_kg_h.is_some());
    let at_practice = |unknown: &Unknown| unknown.in_unit(unknown.practice(bake, &vec![100.0; zones]).centre);
    let values: Vec<f64> = unknowns.iter().map(at_practice).collect();
    let learned = Learned::new(&unknowns, &values, usual);
    let humidity = |zone| HumidityRatio(median(&finite(blocks.iter().map(|block| block.ln_humidity[zone]))).exp());
    let humidity: Vec<HumidityRatio> = (0..zones).map(humidity).collect();
    let temperatures: Vec<Celsius> = usual.temperatures_c.iter().map(|t| Celsius(*t)).collect();
    let ambient = Ambient::holding(usual.ambient_humidity());
    let balance = WaterBalance::new(oven, bake, &learned.parameters, ambient)?;
    Ok(balance.exhaust_to_hold(usual.speed_m_min, &humidity, &temperatures, learned.usual_steam_kg_h, 5.0))
}

fn finite(values: impl Iterator<Item = f64>) -> Vec<f64> {
    values.filter(|value| value.is_finite()).collect()
}

fn column(residuals: &[Vec<f64>], zone: usize) -> Vec<f64> {
    finite(residuals.iter().map(|zones| zones[zone]))
}

fn centres(practice: &[Practice]) -> Vec<f64> {
    practice.iter().map(|practice| practice.centre).collect()
}

/// Which blocks a zone of which the balance misses by far.
fn far_off(residuals: &[Vec<f64>]) -> Vec<bool> {
    let zones = residuals.first().map_or(0, Vec::len);
    let mut far = vec![false; residuals.len()];
    for zone in 0..zones {
        let all = column(residuals, zone);
        let (middle, spread) = (median(&all), robust_spread(&all).max(LEAST_SCATTER));
        for (far, residual) in far.iter_mut().zip(residuals) {
            *far |= (residual[zone] - middle).abs() > FAR_OFF * spread;
        }
    }
    far
}

fn estimates(study: &Study<'_>, fitted: &[f64], replicates: &[Replicate]) -> Vec<Estimate> {
    let of = |(index, unknown): (usize, &Unknown)| {
        let all: Vec<f64> = replicates.iter().map(|replicate| replicate.fitted[index]).collect();
        let mean = all.iter().sum::<f64>() / all.len() as f64;
        let spread = (all.iter().map(|one| (one - mean).powi(2)).sum::<f64>() / all.len() as f64).sqrt();
        Estimate {
            unknown: *unknown,
            value: unknown.in_unit(fitted[index]),
            low: unknown.in_unit(quantile(&all, 0.05)),
            high: unknown.in_unit(quantile(&all, 0.95)),
            left_of_practice: spread / study.practice[index].spread,
        }
    };
    study.unknowns.iter().enumerate().map(of).collect()
}

fn data(pairs: &[(&SteadyBlock, Running)], given: usize) -> BalanceData {
    let speeds = || pairs.iter().map(|(block, _)| block.speed_m_min);
    let runs: BTreeSet<u32> = pairs.iter().map(|(block, _)| block.run).collect();
    BalanceData {
        from_us: pairs.first().map_or(0, |(block, _)| block.time_us),
        to_us: pairs.last().map_or(0, |(block, _)| block.time_us),
        blocks: pairs.len(),
        left_out: given - pairs.len(),
        hours: pairs.iter().map(|(block, _)| block.minutes).sum::<f64>() / 60.0,
        runs: runs.len(),
        slowest_m_min: speeds().fold(f64::INFINITY, f64::min),
        fastest_m_min: speeds().fold(0.0, f64::max),
    }
}

//! Everything that a learned balance is, as it stands in its file.

use normal_profile::NormalKey;
use serde::{Deserialize, Serialize};

use crate::bake::Bake;
use crate::oven::Oven;
use crate::running::Usual;
use crate::unknown::Unknown;
use crate::untold::Untold;

/// A learned balance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BalanceRecord {
    /// The normal that was learned from the same history.
    pub key: NormalKey,
    /// Version of the program that learned it.
    pub program_version: String,
    /// Seed of the replicates.
    pub seed: u64,
    /// What it was learned from.
    pub data: BalanceData,
    /// The oven, as the config had it.
    pub oven: Oven,
    /// The product, as the config had it.
    pub bake: Bake,
    /// The middle of history and what crews do at other speeds.
    pub usual: Usual,
    /// What was learned, with intervals that hold 90 of 100.
    pub estimates: Vec<Estimate>,
    /// What the data cannot tell.
    pub untold: Vec<Untold>,
    /// Standard deviation of ln humidity about the balance, one a zone; with the weather, unless its air was measured.
    pub scatter: Vec<f64>,
    /// The best fit, on the unknowns' own scales.
    pub fitted: Vec<f64>,
    /// The same from data, probes and practice as they might as well have been.
    pub replicates: Vec<Replicate>,
}

/// The history that a balance was learned from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BalanceData {
    /// First steady block, UTC microseconds since 1970.
    pub from_us: i64,
    /// Last steady block.
    pub to_us: i64,
    /// Steady blocks used.
    pub blocks: usize,
    /// Blocks left out because the balance misses them by far.
    pub left_out: usize,
    /// Hours in the blocks used.
    pub hours: f64,
    /// Separate runs of baking.
    pub runs: usize,
    /// Slowest speed among them, m/min.
    pub slowest_m_min: f64,
    /// Fastest.
    pub fastest_m_min: f64,
}

/// A learned value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Estimate {
    /// Of what.
    pub unknown: Unknown,
    /// The best fit.
    pub value: f64,
    /// Lower end of the interval that holds 90 of 100 replicates.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Spread of the replicates over the spread of common practice: near 1, the data have said nothing.
    pub left_of_practice: f64,
}

/// The balance as it might as well have come out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Replicate {
    /// The fit, on the unknowns' own scales.
    pub fitted: Vec<f64>,
    /// By how much each zone's probe was taken to show too much, ln.
    pub probe: Vec<f64>,
    /// Humidity of the hall, kg/kg.
    pub hall: f64,
}

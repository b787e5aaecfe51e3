//! What came of a rate change in the 24 h after it was made.

use std::sync::Arc;

use anyhow::Result;
use balance::{RateChange, SteadyBlock, steady_blocks};
use physics::air::moisture_from_humidity_ratio;
use physics::units::HumidityRatio;
use reading::Timestamp;
use store::Store;

use crate::config::Settings;
use crate::stored;

/// A stretch counts if its speed is within this share of the one proposed.
const SAME_SPEED: f64 = 0.03;

/// Means over the stretches at rest at the new speed.
pub(crate) struct Came {
    /// Moisture of each zone, % vol; none where nothing is known of it.
    pub(crate) moisture_pct: Vec<Option<f64>>,
    /// How long the stretches are together, h.
    pub(crate) hours: f64,
}

/// What came between two moments; none if the line was never at rest with the product at the new speed.
///
/// # Errors
/// The store cannot be read.
pub(crate) fn came(
    store: &Store,
    settings: &Settings,
    change: &RateChange,
    (from, to): (Timestamp, Timestamp),
) -> Result<Option<Came>> {
    let plant = Arc::new(settings.plant.clone());
    let Some((index, line)) = plant.line(&change.line) else { return Ok(None) };
    let windows = stored::windows(store, &plant, index, from, to, &settings.detection)?;
    let mut blocks = steady_blocks(&windows, &change.product, line.length().0);
    blocks.retain(|block| (block.speed_m_min / change.to_m_min - 1.0).abs() <= SAME_SPEED);
    let minutes: f64 = blocks.iter().map(|block| block.minutes).sum();
    let moisture_pct = (0..change.foretold.len()).map(|zone| mean_moisture_pct(&blocks, zone)).collect();
    Ok((!blocks.is_empty()).then_some(Came { moisture_pct, hours: minutes / 60.0 }))
}

/// Mean moisture of a zone over the stretches that know it, % vol.
fn mean_moisture_pct(blocks: &[SteadyBlock], zone: usize) -> Option<f64> {
    let moisture = |block: &SteadyBlock| {
        let ln_humidity = block.ln_humidity.get(zone).copied().filter(|ln| ln.is_finite())?;
        let share = moisture_from_humidity_ratio(HumidityRatio(ln_humidity.exp())).ok()?;
        Some((100.0 * share.0 * block.minutes, block.minutes))
    };
    let (sum, minutes) = blocks.iter().filter_map(moisture).fold((0.0, 0.0), |(a, b), (x, y)| (a + x, b + y));
    (minutes > 0.0).then(|| sum / minutes)
}

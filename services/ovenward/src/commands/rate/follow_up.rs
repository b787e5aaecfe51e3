//! `rate follow-up`: what came of a rate change, a day later.

use std::io::Write;
use std::sync::Arc;

use balance::{RateChange, SteadyBlock, steady_blocks};
use clap::Args;
use physics::air::moisture_from_humidity_ratio;
use physics::units::HumidityRatio;
use reading::Timestamp;
use store::Store;

use super::record;
use crate::config::Settings;
use crate::failure::Failure;
use crate::rate_changes::all;
use crate::service::PlantClock;
use crate::stored;

/// A stretch counts if its speed is within this share of the one proposed.
const SAME_SPEED: f64 = 0.03;

/// Which record, and who looks.
#[derive(Debug, Args)]
pub(super) struct FollowUpArguments {
    /// The record, such as tunnel-1/rate/3.
    id: String,
    /// Who looks.
    #[arg(long, value_name = "NAME")]
    by: String,
}

/// Holds what was foretold against the stretches at rest of the 24 h after the change, and keeps the outcome.
pub(super) fn follow_up(
    settings: &Settings,
    store: &Store,
    arguments: &FollowUpArguments,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let change = looked_at(settings, store, &arguments.id, &arguments.by, PlantClock::Machine.now())?;
    record::write(&change, &settings.plant.shifts, out)
}

/// The record with what came of it, which is kept.
///
/// # Errors
/// There is no such record, or the line was never at rest at the new speed (no data); it has not stood for 24 h (usage); or
/// the store cannot be used.
pub(crate) fn looked_at(
    settings: &Settings,
    store: &Store,
    id: &str,
    by: &str,
    now: Timestamp,
) -> Result<RateChange, Failure> {
    let found = all(store)?.into_iter().find(|change| change.id == *id);
    let found = found
        .ok_or_else(|| Failure::NoData(format!("there is no rate change {id}; `ovenward rate list` lists them")))?;
    let (from, to) = found.day_after(now).map_err(|why| Failure::usage(format!("{id} {why}; nothing was changed")))?;
    let plant = Arc::new(settings.plant.clone());
    let lines = super::super::learn::lines(settings, Some(&found.line))?;
    let windows = stored::windows(store, &plant, lines[0], from, to, &settings.detection)?;
    let length_m = plant.lines[lines[0].0].length().0;
    let blocks = steady_blocks(&windows, &found.product, length_m);
    let at_speed: Vec<&SteadyBlock> =
        blocks.iter().filter(|block| (block.speed_m_min / found.to_m_min - 1.0).abs() <= SAME_SPEED).collect();
    let minutes: f64 = at_speed.iter().map(|block| block.minutes).sum();
    if at_speed.is_empty() {
        return Err(Failure::NoData(format!(
            "{id}: in the 24 h after it was made the line was never at rest with {} at {:.2} m/min, so nothing can be held \
             against what was foretold",
            found.product, found.to_m_min
        )));
    }
    let came: Vec<f64> = (0..found.foretold.len()).map(|zone| came_pct(&at_speed, zone)).collect();
    record::changed(store, id, |change| change.look_at(&came, minutes / 60.0, by, now))
}

/// Mean moisture of a zone over the stretches that know it, % vol.
fn came_pct(blocks: &[&SteadyBlock], zone: usize) -> f64 {
    let moisture = |block: &&&SteadyBlock| {
        let ln_humidity = block.ln_humidity.get(zone).copied().filter(|ln| ln.is_finite())?;
        let share = moisture_from_humidity_ratio(HumidityRatio(ln_humidity.exp())).ok()?;
        Some((100.0 * share.0 * block.minutes, block.minutes))
    };
    let (sum, minutes) =
        blocks.iter().filter_map(|block| moisture(&block)).fold((0.0, 0.0), |(a, b), (x, y)| (a + x, b + y));
    sum / minutes
}

//! `rate follow-up`: what came of a rate change, a day later.

use std::io::Write;

use balance::RateChange;
use clap::Args;
use reading::Timestamp;
use store::Store;

use super::record;
use crate::config::Settings;
use crate::failure::Failure;
use crate::rate_changes::{came, changed, named, refused};
use crate::service::PlantClock;

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
    let found = named(&store.rate_changes()?, id)?;
    let day = found.day_after(now).map_err(|why| refused(id, &why))?;
    let Some(came) = came(store, settings, &found, day)? else {
        return Err(Failure::NoData(format!(
            "{id}: in the 24 h after it was made the line was never at rest with {} at {:.2} m/min, so nothing can be held \
             against what was foretold",
            found.product, found.to_m_min
        )));
    };
    changed(store, id, |change| change.look_at(&came.moisture_pct, came.hours, by, now))
}

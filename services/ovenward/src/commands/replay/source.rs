//! Where replayed readings come from: the store, or files that were never loaded.

use std::path::PathBuf;

use reading::{LineIndex, Reading, Span, Timestamp};
use store::Store;

use crate::config::Settings;
use crate::failure::Failure;
use crate::history;
use crate::service::PlantClock;

/// Readings in order of time, as often as they are asked for.
pub(super) enum Source<'a> {
    Stored(Store),
    /// The readings of files, and the plant that they belong to.
    Read(Vec<Reading>, &'a Settings),
}

impl<'a> Source<'a> {
    /// The files' readings, or the store where there are no files.
    ///
    /// # Errors
    /// The store or a file cannot be read.
    pub(super) fn open(settings: &'a Settings, files: &[PathBuf]) -> Result<Self, Failure> {
        if files.is_empty() {
            return Ok(Self::Stored(Store::open(&settings.data_dir, &settings.plant)?));
        }
        Ok(Self::Read(sorted_readings(settings, files)?, settings))
    }

    /// Hands out the readings of one line, or of all, with `from <= time < to`.
    ///
    /// # Errors
    /// The store cannot be read.
    pub(super) fn each(
        &self,
        line: Option<LineIndex>,
        from: Option<Timestamp>,
        to: Option<Timestamp>,
        take: &mut dyn FnMut(&Reading),
    ) -> Result<(), Failure> {
        match self {
            Self::Stored(store) => {
                let Some((first, last)) = store.span()? else { return Ok(()) };
                for stretch in store.readings(line, from.unwrap_or(first), to.unwrap_or(last + Span(1))) {
                    stretch?.iter().for_each(&mut *take);
                }
            }
            Self::Read(readings, settings) => {
                let of_line = |reading: &&Reading| {
                    line.is_none_or(|line| settings.plant.signals.get(reading.signal).line == line)
                        && from.is_none_or(|from| reading.time >= from)
                        && to.is_none_or(|to| reading.time < to)
                };
                readings.iter().filter(of_line).for_each(take);
            }
        }
        Ok(())
    }
}

/// Every readable row of the files, in order of time; what is not readable is counted in the log.
fn sorted_readings(settings: &Settings, files: &[PathBuf]) -> Result<Vec<Reading>, Failure> {
    let now = PlantClock::Machine.now();
    let mut readings = Vec::new();
    for file in files {
        let mut rejected = 0_u64;
        for row in history::rows(file)? {
            match history::reading(&row?, &settings.plant.signals, now) {
                Ok(reading) => readings.push(reading),
                Err(reason) => {
                    if rejected == 0 {
                        tracing::warn!("{}: {reason}", file.display());
                    }
                    rejected += 1;
                }
            }
        }
        if rejected > 0 {
            tracing::warn!("{}: {rejected} rows left out; `ovenward backfill` writes down why", file.display());
        }
    }
    readings.sort_by_key(|reading| (reading.time, reading.signal));
    readings.dedup_by_key(|reading| (reading.time, reading.signal));
    Ok(readings)
}

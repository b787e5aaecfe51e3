//! Once a shift is over: its table and its energy record on MQTT, and whether the normals still fit. Once the day after a
//! rate change is over: what came of it.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use anyhow::Result;
use reading::{LineIndex, Plant, Span, Timestamp};
use store::Store;
use tokio::sync::{Notify, watch};

use super::figures::Figures;
use super::topics::{Topics, retained};
use super::troubles::{Troubles, Work};
use crate::config::Settings;
use crate::energy::{Baselines, Books};
use crate::fits::{self, SETTLE};
use crate::normal_files::NormalFiles;
use crate::stored;

/// How often to look whether a shift is over.
const LOOK: Duration = Duration::from_secs(10);

/// Closes shifts, and the days after rate changes.
pub(crate) struct ShiftLoop {
    pub(crate) settings: Arc<Settings>,
    pub(crate) plant: Arc<Plant>,
    pub(crate) store: Store,
    pub(crate) topics: Topics,
    pub(crate) waiting: Arc<Notify>,
    pub(crate) figures: Arc<Figures>,
    pub(crate) troubles: Arc<Troubles>,
}

impl ShiftLoop {
    /// Runs until told to stop.
    pub(crate) async fn run(self, mut stop: watch::Receiver<bool>) {
        let mut fits_seen = None;
        let mut baselines = Baselines::default();
        let mut in_vain = BTreeSet::new();
        while !*stop.borrow_and_update() {
            tokio::task::block_in_place(|| {
                self.troubles.note(Work::ShiftTables, self.publish_finished_shifts(&mut baselines));
                self.troubles.note(Work::Fits, self.look_at_fits(&mut fits_seen));
                self.troubles.note(Work::FollowUps, self.look_at_rate_changes(&mut in_vain));
            });
            tokio::select! {
                () = tokio::time::sleep(LOOK) => {}
                _ = stop.changed() => {}
            }
        }
    }

    /// Once a shift, and when the service begins: which normals no longer fit.
    fn look_at_fits(&self, seen: &mut Option<Timestamp>) -> Result<()> {
        let Some((_, newest)) = self.store.span()? else { return Ok(()) };
        let present = self.plant.shifts.at(newest - SETTLE).map(|shift| shift.starts);
        if present == *seen {
            return Ok(());
        }
        let normals = NormalFiles::new(&self.settings.data_dir).approved(&self.plant)?;
        let slips = fits::slips(&self.store, &self.plant, &normals, &self.settings)?;
        self.figures.set("ovenward_normals_slipping", slips.len() as f64);
        for (normal, slip) in &slips {
            tracing::warn!("{}", fits::in_words(normal, slip, &self.plant.shifts).join("; "));
        }
        *seen = present;
        Ok(())
    }

    fn publish_finished_shifts(&self, baselines: &mut Baselines) -> Result<()> {
        let Some((_, newest)) = self.store.span()? else { return Ok(()) };
        let Some(present) = self.plant.shifts.at(newest - SETTLE) else { return Ok(()) };
        let Some(finished) = self.plant.shifts.at(present.starts - Span(1)) else { return Ok(()) };
        for line in (0..self.plant.lines.len()).map(LineIndex) {
            let id = &self.plant.lines[line.0].id;
            let noted = format!("shift-published/{id}");
            if self.store.meta(&noted)? == Some(finished.starts.to_string()) {
                continue;
            }
            let normals = NormalFiles::new(&self.settings.data_dir);
            let rows =
                stored::shift_table(&self.store, &normals, &self.plant, line, &finished, &self.settings.detection)?;
            let starts = finished.starts.to_string();
            let mut messages = Vec::new();
            // Nothing was baked: the table of the last shift of this name that baked stays.
            if !rows.is_empty() {
                messages.push(retained(self.topics.shift(id, &finished.name), serde_json::to_vec(&rows)?));
            }
            // An oven that is kept hot without dough uses energy all the same.
            let books = Books::open(&self.store, &self.plant, &self.settings)?;
            let record = baselines.finished_shift(&books, line, &finished)?;
            messages.extend(record.map(|record| retained(self.topics.energy_shift(id), record)));
            if messages.is_empty() {
                self.store.set_meta(&noted, &starts)?;
                continue;
            }
            self.store.enqueue_noting(&messages, &noted, &starts)?;
            self.waiting.notify_one();
            tracing::info!(line = %id, shift = %finished.name, date = %finished.date, "shift table and energy published");
        }
        Ok(())
    }
}

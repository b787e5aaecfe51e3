//! Brings the database nearer to the store: what the database says it has is compared with what the store has, and the
//! next rows are written.

use std::collections::BTreeMap;
use std::sync::Arc;

use anyhow::Result;
use reading::{LineIndex, Plant, ShiftInstance, Timestamp};
use sql::{ALERT, ALERT_CHANGE, Connection, ENERGY, JournalPosition, RATE_CHANGE, Row, SHIFT, Stretch, Table};
use store::{AlertRecord, RateChangeRecord, Store};
use tokio::task::block_in_place;

use super::rows;
use crate::config::{Settings, SqlSettings};
use crate::energy::{Baselines, Books};
use crate::fits::SETTLE;
use crate::normal_files::NormalFiles;
use crate::stored;

/// Changes of alerts in one transaction.
const CHANGES: usize = 200;

/// Writes what the store has into the database.
pub(crate) struct DatabaseWriter {
    settings: Arc<Settings>,
    what: SqlSettings,
    plant: Arc<Plant>,
    store: Store,
    baselines: Baselines,
    /// The rate changes as the database has them for certain.
    there: Vec<RateChangeRecord>,
}

/// The shifts of a stretch of time that are over, late readings included.
pub(crate) fn finished(plant: &Plant, from: Timestamp, to: Timestamp, newest: Timestamp) -> Vec<ShiftInstance> {
    let mut shifts = plant.shifts.between(from, to);
    shifts.retain(|shift| shift.ends + SETTLE <= newest);
    shifts
}

impl DatabaseWriter {
    pub(crate) fn new(settings: Arc<Settings>, what: SqlSettings, plant: Arc<Plant>, store: Store) -> Self {
        Self { settings, what, plant, store, baselines: Baselines::default(), there: Vec::new() }
    }

    /// The database is another one, or may have been restored: nothing is known of it any more.
    pub(crate) fn connected(&mut self) {
        self.there.clear();
    }

    /// Writes the next rows of each kind, those of one shift at most of a line; says whether there may be more.
    ///
    /// # Errors
    /// The store cannot be read, or the database refuses or is gone: what was begun is not there.
    pub(crate) async fn step(&mut self, connection: &mut Connection) -> Result<bool> {
        let positions = connection.positions(&self.plant.site).await?;
        let mut more = false;
        if self.what.alerts {
            more |= self.next_alerts(connection, positions.alerts.as_ref()).await?;
        }
        if self.what.rate_changes {
            self.write_rate_changes(connection).await?;
        }
        let Some(span) = block_in_place(|| self.store.span())? else { return Ok(more) };
        for line in (0..self.plant.lines.len()).map(LineIndex) {
            for table in self.tables() {
                let reached = positions.until(table, &self.plant.lines[line.0].id);
                if let Some(shift) = self.next_shift(reached, span) {
                    self.write_shift(connection, table, line, &shift, true).await?;
                    more = true;
                }
            }
        }
        Ok(more)
    }

    /// The tables that have rows of shifts.
    pub(crate) fn tables(&self) -> impl Iterator<Item = &'static Table> + use<> {
        let wanted = [(self.what.shifts, &SHIFT), (self.what.energy, &ENERGY)];
        wanted.into_iter().filter(|(wanted, _)| *wanted).map(|(_, table)| table)
    }

    /// Writes one shift of a line again, whatever is there of it; gives how many rows it has.
    ///
    /// # Errors
    /// See [`step`](Self::step).
    pub(crate) async fn write_shift(
        &mut self,
        connection: &mut Connection,
        table: &'static Table,
        line: LineIndex,
        shift: &ShiftInstance,
        reached: bool,
    ) -> Result<usize> {
        let rows = block_in_place(|| self.rows(table, line, shift))?;
        let (site, line) = (&*self.plant.site, &*self.plant.lines[line.0].id);
        let batch = connection.begin().await?;
        batch.replace(table, Stretch { site, line, from: shift.starts, to: shift.ends }, &rows).await?;
        if reached {
            batch.reach(table, site, line, shift.ends).await?;
        }
        batch.commit().await?;
        Ok(rows.len())
    }

    /// Writes these alerts with what was done about them. Up to `reached` all are there then.
    ///
    /// # Errors
    /// See [`step`](Self::step).
    pub(crate) async fn write_alerts(
        &self,
        connection: &mut Connection,
        mut alerts: Vec<AlertRecord>,
        reached: Option<JournalPosition>,
    ) -> Result<()> {
        // Always in the same order: two who write the same rows never wait for each other.
        alerts.sort_by(|one, other| one.id.cmp(&other.id));
        let (mut rows, mut changes) = (Vec::new(), Vec::new());
        block_in_place(|| {
            for alert in &alerts {
                rows.push(rows::of_alert(alert)?);
                let history = self.store.alert_history(&alert.id)?;
                changes.extend(rows::of_history(&self.plant.site, &alert.id, &history)?);
            }
            anyhow::Ok(())
        })?;
        let batch = connection.begin().await?;
        batch.put(&ALERT, &rows).await?;
        batch.put(&ALERT_CHANGE, &changes).await?;
        if let Some(reached) = reached {
            batch.reach_change(&self.plant.site, &reached).await?;
        }
        Ok(batch.commit().await?)
    }

    /// Writes the rate changes that the database has otherwise, or not at all; gives how many.
    ///
    /// # Errors
    /// See [`step`](Self::step).
    pub(crate) async fn write_rate_changes(&mut self, connection: &mut Connection) -> Result<usize> {
        let records = block_in_place(|| self.store.rate_changes())?;
        if records == self.there {
            return Ok(0);
        }
        let there = connection.rate_changes(&self.plant.site).await?;
        let mut rows = Vec::new();
        for record in &records {
            if there.get(&record.id) != Some(&serde_json::from_str(&record.json)?) {
                rows.push(rows::of_rate_change(&self.plant.site, &serde_json::from_str(&record.json)?)?);
            }
        }
        let batch = connection.begin().await?;
        batch.put(&RATE_CHANGE, &rows).await?;
        batch.commit().await?;
        self.there = records;
        Ok(rows.len())
    }

    /// The shift after the last that is there, if it is over.
    fn next_shift(
        &self,
        reached: Option<Timestamp>,
        (oldest, newest): (Timestamp, Timestamp),
    ) -> Option<ShiftInstance> {
        // What the store has dropped since is gone; what it has begins with a part of a shift, if need be.
        let from = reached.map_or(oldest, |reached| reached.max(oldest));
        self.plant.shifts.at(from).filter(|shift| shift.ends + SETTLE <= newest)
    }

    /// The alerts that have changed since the last change that is there.
    async fn next_alerts(&self, connection: &mut Connection, reached: Option<&JournalPosition>) -> Result<bool> {
        let (alerts, last) = block_in_place(|| self.changed_since(reached))?;
        let Some(last) = last else { return Ok(false) };
        self.write_alerts(connection, alerts, Some(last)).await?;
        Ok(true)
    }

    fn changed_since(&self, reached: Option<&JournalPosition>) -> Result<(Vec<AlertRecord>, Option<JournalPosition>)> {
        let after = match reached {
            Some(reached) if self.continues(reached)? => reached.number,
            _ => 0,
        };
        let changes = self.store.alert_changes(after, CHANGES)?;
        let last = changes.last().map(|(number, _)| *number);
        let Some((number, (alert, time))) =
            last.zip(last.map(|last| self.store.alert_changed(last)).transpose()?.flatten())
        else {
            return Ok((Vec::new(), None));
        };
        if after == 0 && reached.is_some() {
            tracing::warn!(
                "the alerts of the store do not go on where the database stopped: the store was restored or replaced, \
                 and all of its alerts are written again; those that only the database has stay there"
            );
        }
        // Each as it is now, once, however often it has changed.
        let alerts: BTreeMap<String, AlertRecord> =
            changes.into_iter().map(|(_, alert)| (alert.id.clone(), alert)).collect();
        Ok((alerts.into_values().collect(), Some(JournalPosition { number, alert, time })))
    }

    /// Whether the journal of the store has the change at which the database stopped.
    fn continues(&self, reached: &JournalPosition) -> Result<bool> {
        let found = self.store.alert_changed(reached.number)?;
        Ok(found.is_some_and(|(alert, time)| alert == reached.alert && time == reached.time))
    }

    fn rows(&mut self, table: &Table, line: LineIndex, shift: &ShiftInstance) -> Result<Vec<Row>> {
        if *table == SHIFT {
            let normals = NormalFiles::new(&self.settings.data_dir);
            let detection = &self.settings.detection;
            let rows = stored::shift_table(&self.store, &normals, &self.plant, line, shift, detection)?;
            return rows::of_shift(&rows);
        }
        let Some((_, newest)) = self.store.span()? else { return Ok(Vec::new()) };
        // Of the present shift nothing counts yet.
        let by = self.plant.shifts.at(newest).map_or(shift.starts, |present| present.starts);
        let books = Books::open(&self.store, &self.plant, &self.settings)?;
        let record = self.baselines.record(&books, line, shift, by)?;
        record.iter().map(rows::of_energy).collect()
    }
}

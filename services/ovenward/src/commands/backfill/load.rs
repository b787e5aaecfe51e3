//! Rows of history on their way into the store, wherever they come from; those that give no reading are written down
//! with the reason.

use std::fs::{File, OpenOptions};
use std::io::Write;
use std::path::PathBuf;

use anyhow::Context;
use reading::{Reading, Timestamp};
use store::Store;

use crate::config::Settings;
use crate::failure::Failure;
use crate::history::{self, Row};
use crate::service::PlantClock;

/// Rows handed to the store at a time.
const AT_ONCE: usize = 200_000;
/// Rows after which the hours that are whole are sealed, so that the database stays small.
const SEAL_AFTER: usize = 5_000_000;

/// A load under way.
pub(super) struct Load<'a> {
    settings: &'a Settings,
    store: &'a Store,
    now: Timestamp,
    waiting: Vec<Reading>,
    rejected_path: PathBuf,
    rejected_file: Option<csv::Writer<File>>,
    stored: usize,
    already_there: usize,
    rejected: usize,
    since_sealed: usize,
}

impl<'a> Load<'a> {
    /// A load whose rejected rows go to this file, behind what it holds if it is there.
    pub(super) fn resume(settings: &'a Settings, store: &'a Store, rejected_path: PathBuf) -> Result<Self, Failure> {
        let mut load = Self::begin(settings, store, rejected_path);
        if load.rejected_path.exists() {
            let file = OpenOptions::new().append(true).open(&load.rejected_path);
            let file = file.with_context(|| format!("cannot write {}", load.rejected_path.display()))?;
            load.rejected_file = Some(csv::Writer::from_writer(file));
        }
        Ok(load)
    }

    /// A load whose rejected rows go to this file, in place of what it holds.
    pub(super) fn begin(settings: &'a Settings, store: &'a Store, rejected_path: PathBuf) -> Self {
        Self {
            settings,
            store,
            now: PlantClock::Machine.now(),
            waiting: Vec::with_capacity(AT_ONCE),
            rejected_path,
            rejected_file: None,
            stored: 0,
            already_there: 0,
            rejected: 0,
            since_sealed: 0,
        }
    }

    /// Takes a row; gives the time of its reading, if it has one.
    ///
    /// # Errors
    /// The store, or the file of rejected rows, cannot be written.
    pub(super) fn take(&mut self, row: &Row) -> Result<Option<Timestamp>, Failure> {
        match history::reading(row, &self.settings.plant.signals, self.now) {
            Ok(reading) => {
                let time = reading.time;
                self.waiting.push(reading);
                if self.waiting.len() == AT_ONCE {
                    self.settle()?;
                }
                Ok(Some(time))
            }
            Err(reason) => {
                self.reject(row, &reason)?;
                self.rejected += 1;
                Ok(None)
            }
        }
    }

    /// Whether nothing waits to be stored.
    pub(super) fn is_empty(&self) -> bool {
        self.waiting.is_empty()
    }

    /// Rows that are in the store.
    pub(super) fn stored(&self) -> usize {
        self.stored + self.already_there
    }

    /// Stores what waits, and what was rejected.
    ///
    /// # Errors
    /// See [`take`](Self::take).
    pub(super) fn settle(&mut self) -> Result<(), Failure> {
        let committed = self.store.load(&self.waiting)?;
        self.stored += committed.stored;
        self.already_there += committed.already_there;
        self.since_sealed += self.waiting.len();
        self.waiting.clear();
        if let Some(rejected) = &mut self.rejected_file {
            rejected.flush()?;
        }
        if self.since_sealed >= SEAL_AFTER {
            self.seal()?;
        }
        Ok(())
    }

    /// Stores the rest, and says what became of the rows.
    ///
    /// # Errors
    /// See [`take`](Self::take).
    pub(super) fn finish(mut self, from: &str, out: &mut dyn Write) -> Result<(), Failure> {
        self.settle()?;
        self.seal()?;
        let Self { stored, already_there, rejected, .. } = self;
        writeln!(out, "{from}: {stored} rows stored, {already_there} already there, {rejected} rejected")?;
        if rejected > 0 {
            writeln!(out, "  the rejected rows stand in {} with the reasons", self.rejected_path.display())?;
        }
        Ok(())
    }

    fn seal(&mut self) -> Result<(), Failure> {
        self.since_sealed = 0;
        self.store.seal(self.now)?;
        Ok(())
    }

    fn reject(&mut self, row: &Row, reason: &str) -> Result<(), Failure> {
        if self.rejected_file.is_none() {
            let path = &self.rejected_path;
            let mut writer =
                csv::Writer::from_path(path).with_context(|| format!("cannot write {}", path.display()))?;
            writer.write_record(["time", "tag", "value", "quality", "row", "reason"])?;
            self.rejected_file = Some(writer);
        }
        if let Some(writer) = &mut self.rejected_file {
            let quality = row.quality.as_deref().unwrap_or_default();
            writer.write_record([&*row.time, &*row.tag, &*row.value, quality, &*row.place.to_string(), reason])?;
        }
        Ok(())
    }
}

//! The record of a shift that is over, as it goes out on MQTT and into a database.

use std::collections::HashMap;
use std::collections::hash_map::Entry;

use anyhow::Result;
use reading::{LineIndex, ShiftInstance, Timestamp};

use super::baseline::{LineBaseline, shifts_of};
use super::books::Books;
use super::period::{By, groups};
use super::row::{COLUMNS, EnergyRow};
use crate::table::Object;

/// The baselines by which finished shifts are judged. Each is fitted once: it takes the shifts of weeks.
#[derive(Default)]
pub(crate) struct Baselines {
    fitted: HashMap<LineIndex, LineBaseline>,
    /// When one was refused: the same shifts give no other answer.
    refused: HashMap<LineIndex, Timestamp>,
}

impl Baselines {
    /// The record of one line in one shift as JSON, against the baseline if its period was over when the shift began.
    /// `None` if nothing was measured.
    ///
    /// # Errors
    /// The store cannot be read.
    pub(crate) fn finished_shift(
        &mut self,
        books: &Books<'_>,
        line: LineIndex,
        shift: &ShiftInstance,
    ) -> Result<Option<Vec<u8>>> {
        let record = self.record(books, line, shift, shift.starts)?;
        Ok(record.map(|row| serde_json::to_vec(&Object { columns: COLUMNS, row: &row })).transpose()?)
    }

    /// The record of one line in one shift: the row of `energy --by shift`, with what the baseline of `[energy]` expects if
    /// its period was over by a moment. `None` if nothing was measured.
    ///
    /// # Errors
    /// The store cannot be read.
    pub(crate) fn record(
        &mut self,
        books: &Books<'_>,
        line: LineIndex,
        shift: &ShiftInstance,
        over_by: Timestamp,
    ) -> Result<Option<EnergyRow>> {
        let tallies = books.tallies(line, std::slice::from_ref(shift))?;
        let groups = groups(&tallies, By::Shift);
        let mut rows = books.rows(line, By::Shift, &groups);
        if rows.is_empty() {
            return Ok(None);
        }
        if let Some(baseline) = self.of_line(books, line, over_by)? {
            baseline.compare(books, &tallies, &groups, &mut rows);
        }
        Ok(rows.pop())
    }

    /// One that is refused is tried anew at a later moment: its period may yet be filled.
    fn of_line(&mut self, books: &Books<'_>, line: LineIndex, over_by: Timestamp) -> Result<Option<&LineBaseline>> {
        let Some(period) = books.settings.energy.baseline else { return Ok(None) };
        let shifts = shifts_of(&books.plant.shifts, period);
        if shifts.last().is_none_or(|last| last.ends > over_by) || self.refused.get(&line) == Some(&over_by) {
            return Ok(None);
        }
        let vacant = match self.fitted.entry(line) {
            Entry::Occupied(fitted) => return Ok(Some(fitted.into_mut())),
            Entry::Vacant(vacant) => vacant,
        };
        let tallies = books.tallies(line, &shifts)?;
        let weather = tallies.iter().all(|shift| shift.whole().ambient.value().is_some());
        match LineBaseline::fit(books, line, &tallies, weather) {
            Ok(baseline) => Ok(Some(vacant.insert(baseline))),
            Err(why) => {
                tracing::warn!(line = %books.plant.lines[line.0].id, "no energy baseline: {why}");
                self.refused.insert(line, over_by);
                Ok(None)
            }
        }
    }
}

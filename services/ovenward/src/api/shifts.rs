//! Shifts and their profile tables.

use reading::{ShiftInstance, Span};
use web::api::{Period, Refusal, Shift, ShiftTable};

use super::same::same;
use super::{Api, failed, timestamp};
use crate::stored;

/// Without a beginning, so far back.
const LISTED: Span = Span::minutes(14 * 24 * 60);

impl Api {
    pub(super) fn list_shifts(&self, line: Option<&str>, period: Period) -> Result<Vec<Shift>, Refusal> {
        if let Some(line) = line {
            self.line(line)?;
        }
        let Some((oldest, newest)) = self.store.span().map_err(failed)? else { return Ok(Vec::new()) };
        let to = period.to.map_or(newest + Span(1), timestamp).min(newest + Span(1));
        let from = period.from.map_or(to - LISTED, timestamp).max(oldest);
        let mut shifts = Vec::new();
        for shift in self.plant.shifts.between(from, to).iter().rev() {
            let lines = self.plant.lines.iter().filter(|it| line.is_none_or(|wanted| *it.id == *wanted));
            shifts.extend(lines.map(|line| self.shift(&line.id, shift)));
        }
        Ok(shifts)
    }

    pub(super) fn table_of(&self, line: &str, date: &str, name: &str) -> Result<ShiftTable, Refusal> {
        let (index, _) = self.line(line)?;
        let missing = || {
            let known: Vec<&str> = self.plant.shifts.names().map(|name| &**name).collect();
            let known = known.join(", ");
            Refusal::NotFound(format!("No shift {name:?} began on {date}. The shifts are {known}."))
        };
        let shifts = date.parse().map(|date| self.plant.shifts.on(date)).unwrap_or_default();
        let shift = shifts.into_iter().find(|shift| &*shift.name == name).ok_or_else(missing)?;
        let rows = stored::shift_table(&self.store, &self.files, &self.plant, index, &shift, &self.settings.detection);
        Ok(ShiftTable { shift: self.shift(line, &shift), rows: same(&rows.map_err(failed)?)? })
    }

    fn shift(&self, line: &str, shift: &ShiftInstance) -> Shift {
        Shift {
            line: line.into(),
            date: shift.date.to_string(),
            shift: shift.name.to_string(),
            starts: shift.starts.to_string(),
            ends: shift.ends.to_string(),
            over: shift.ends <= self.clock.now(),
        }
    }
}

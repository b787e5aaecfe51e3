//! The energy account of one line over a period: its rows, its baseline and what that says.

use anyhow::Result;
use balance::energy::{Baseline, BaselineRefused, Missing, missing, record};
use reading::{LineIndex, ShiftInstance};

use super::baseline::{Comparison, LineBaseline};
use super::books::Books;
use super::period::{By, Group, groups, whole};
use super::row::EnergyRow;

/// What became of the baseline.
pub(crate) enum BaselineOutcome {
    /// No period was named.
    NotAsked,
    /// The records of the period give none.
    Refused(BaselineRefused),
    /// It stands, and this is what the shifts asked for are against it.
    Stands(Box<(Baseline, Comparison)>),
}

/// The account of one line.
pub(crate) struct Account {
    pub(crate) line: LineIndex,
    pub(crate) rows: Vec<EnergyRow>,
    /// All of the period together.
    pub(crate) whole: EnergyRow,
    pub(crate) missing: Vec<Missing>,
    pub(crate) baseline: BaselineOutcome,
}

impl Books<'_> {
    /// The account of a line over these shifts, against the baseline of those; `None` if nothing is known of them.
    ///
    /// # Errors
    /// The store cannot be read.
    pub(crate) fn account(
        &self,
        line: LineIndex,
        shifts: &[ShiftInstance],
        baseline_shifts: Option<&[ShiftInstance]>,
        by: By,
    ) -> Result<Option<Account>> {
        let tallies = self.tallies(line, shifts)?;
        let Some(together) = whole(&tallies) else { return Ok(None) };
        let energy = &self.settings.energy.settings;
        let parts = groups(&tallies, by);
        let mut rows = self.rows(line, by, &parts);
        let baseline = match baseline_shifts {
            None => BaselineOutcome::NotAsked,
            Some(before) => {
                let before = self.tallies(line, before)?;
                let weather = before.iter().chain(&tallies).all(|shift| shift.whole().ambient.value().is_some());
                match LineBaseline::fit(self, line, &before, weather) {
                    Ok(baseline) => {
                        let comparison = baseline.compare(self, &tallies, &parts, &mut rows);
                        BaselineOutcome::Stands(Box::new((baseline.fitted, comparison)))
                    }
                    Err(why) => BaselineOutcome::Refused(why),
                }
            }
        };
        Ok(Some(Account {
            line,
            rows,
            whole: self.row(line, "whole", &together),
            missing: missing(self.plant, line, energy),
            baseline,
        }))
    }

    /// The rows of these groups, without a baseline.
    pub(crate) fn rows(&self, line: LineIndex, by: By, groups: &[Group]) -> Vec<EnergyRow> {
        groups.iter().map(|group| self.row(line, by.name(), group)).collect()
    }

    fn row(&self, line: LineIndex, by: &'static str, group: &Group) -> EnergyRow {
        let energy = &self.settings.energy.settings;
        let products: Vec<&str> = group.tally.products.iter().map(|code| &**code).collect();
        let mut row = EnergyRow {
            site: self.plant.site.to_string(),
            line: self.plant.lines[line.0].id.to_string(),
            by,
            period: group.period.clone(),
            products: products.join("+"),
            starts: group.starts,
            ends: group.ends,
            record: record(&group.tally, self.plant, line, energy),
            currency: self.settings.costs.as_ref().map(|costs| costs.currency.clone()),
            over_steaming_cost: None,
            excess_moisture_cost: None,
            expected_kwh: None,
            saving_kwh: None,
            cusum_kwh: None,
        };
        row.price(energy);
        row
    }
}

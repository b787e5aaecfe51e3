//! The energy account of one line over a period: its rows, its baseline and what that says.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use alert::Normals;
use anyhow::Result;
use balance::energy::{
    Baseline, BaselinePoint, BaselineRefused, Missing, Saving, Turn, Variable, missing, record, saving, turn,
};
use reading::{LineIndex, Plant, ShiftInstance};
use store::Store;

use super::period::{By, Group, groups, whole};
use super::row::EnergyRow;
use super::shift::{ShiftTally, shift_tally};
use crate::config::Settings;

/// A record with less coverage than this, or of less than this share of its shift, is no point of a baseline.
const COMPLETE_PCT: f64 = 95.0;
/// A relevant variable must occur in this share of the shifts.
const OCCURS: f64 = 0.2;

/// What became of the baseline.
pub(crate) enum BaselineOutcome {
    /// No period was named.
    NotAsked,
    /// The records of the period give none.
    Refused(BaselineRefused),
    /// It stands.
    Stands(Box<Comparison>),
}

/// Shifts held against a baseline.
pub(crate) struct Comparison {
    pub(crate) baseline: Baseline,
    /// Of the shifts asked for that could be compared.
    pub(crate) saving: Saving,
    /// When its CUSUM turned, and the shift after which it did.
    pub(crate) turn: Option<(Turn, ShiftInstance)>,
    /// How many shifts could not be compared.
    pub(crate) not_compared: usize,
    /// The variables that lie beyond what the baseline has seen, and in how many shifts.
    pub(crate) beyond: BTreeMap<String, usize>,
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

/// What the accounts of all lines are made of.
pub(crate) struct Books<'a> {
    pub(crate) store: &'a Store,
    pub(crate) normals: &'a Normals,
    pub(crate) plant: &'a Arc<Plant>,
    pub(crate) settings: &'a Settings,
}

impl Books<'_> {
    /// The sums of the shifts in which a line has any reading.
    fn tallies(&self, line: LineIndex, shifts: &[ShiftInstance]) -> Result<Vec<ShiftTally>> {
        let mut tallies = Vec::new();
        for shift in shifts {
            let found = shift_tally(self.store, self.normals, self.plant, line, shift, self.settings)?;
            if !found.products.is_empty() {
                tallies.push(found);
            }
        }
        Ok(tallies)
    }

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
        let mut rows: Vec<EnergyRow> = Vec::new();
        let parts = groups(&tallies, by);
        for group in &parts {
            rows.push(self.row(line, by.name(), group));
        }
        let baseline = match baseline_shifts {
            None => BaselineOutcome::NotAsked,
            Some(before) => self.compare(line, &self.tallies(line, before)?, &tallies, &parts, &mut rows),
        };
        Ok(Some(Account {
            line,
            rows,
            whole: self.row(line, "whole", &together),
            missing: missing(self.plant, line, energy),
            baseline,
        }))
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

    /// Fits the baseline of `before` and holds `after` against it, shift by shift.
    fn compare(
        &self,
        line: LineIndex,
        before: &[ShiftTally],
        after: &[ShiftTally],
        groups: &[Group],
        rows: &mut [EnergyRow],
    ) -> BaselineOutcome {
        let products = self.products(before);
        let weather = before.iter().chain(after).all(|shift| shift.whole().ambient.value().is_some());
        let fit = |mix: Mix| {
            let points: Vec<BaselinePoint> =
                before.iter().filter_map(|shift| self.point(line, shift, &products, mix, weather)).collect();
            Baseline::fit(&variables(&products, mix, weather), &points)
        };
        // Products apart explain more and need more shifts: whichever scatters less about its fit.
        let (apart, together) = (fit(Mix::Apart), fit(Mix::Together));
        let (baseline, mix) = match (apart, together) {
            (Ok(apart), Ok(together)) if apart.quality.cv_rmse < together.quality.cv_rmse => (apart, Mix::Apart),
            (_, Ok(together)) => (together, Mix::Together),
            (Ok(apart), Err(_)) => (apart, Mix::Apart),
            (Err(_), Err(why)) => return BaselineOutcome::Refused(why),
        };
        let point = |shift: &ShiftTally| self.point(line, shift, &products, mix, weather);
        let placed: Vec<(usize, BaselinePoint)> =
            after.iter().enumerate().filter_map(|(place, shift)| Some((place, point(shift)?))).collect();
        let placed: Vec<(usize, BaselinePoint)> =
            placed.into_iter().filter(|(_, point)| baseline.is_of_its_kind(&point.values)).collect();
        let compared: Vec<BaselinePoint> = placed.iter().map(|(_, point)| point.clone()).collect();
        let saved = saving(&baseline, &compared);
        let turned = turn(&saved.each_kwh).map(|turn| (turn, after[placed[turn.at].0].shift.clone()));
        let mut beyond = BTreeMap::new();
        for variable in compared.iter().flat_map(|point| baseline.beyond(&point.values)) {
            *beyond.entry(variable.name.clone()).or_insert(0) += 1;
        }
        let each: BTreeMap<usize, f64> =
            placed.iter().zip(&saved.each_kwh).map(|((place, _), saved)| (*place, *saved)).collect();
        let mut sum = 0.0;
        for (row, group) in rows.iter_mut().zip(groups) {
            let known: Option<Vec<f64>> = group.shifts.iter().map(|place| each.get(place).copied()).collect();
            let Some(saved) = known.filter(|saved| !saved.is_empty()).map(|saved| saved.iter().sum::<f64>()) else {
                continue;
            };
            sum += saved;
            row.saving_kwh = Some(saved);
            row.expected_kwh = row.record.energy_kwh.map(|energy| energy + saved);
            row.cusum_kwh = Some(sum);
        }
        let not_compared = after.len() - compared.len();
        BaselineOutcome::Stands(Box::new(Comparison { baseline, saving: saved, turn: turned, not_compared, beyond }))
    }

    /// The products that occur often enough to be a variable; seldom ones would be fitted to a handful of shifts.
    fn products(&self, shifts: &[ShiftTally]) -> Vec<Arc<str>> {
        let all: BTreeSet<Arc<str>> =
            shifts.iter().flat_map(|shift| shift.products.keys().flatten().cloned()).collect();
        let often = |code: &Arc<str>| {
            let found = shifts.iter().filter(|shift| shift.tonnes(code, self.plant, self.settings) > 0.0).count();
            found as f64 >= OCCURS * shifts.len() as f64
        };
        all.into_iter().filter(often).collect()
    }

    /// A complete shift as the baseline sees it. One that baked what the baseline does not know is none.
    fn point(
        &self,
        line: LineIndex,
        shift: &ShiftTally,
        products: &[Arc<str>],
        mix: Mix,
        weather: bool,
    ) -> Option<BaselinePoint> {
        let whole = shift.whole();
        let found = record(&whole, self.plant, line, &self.settings.energy.settings);
        let length_h = (shift.shift.ends - shift.shift.starts).as_seconds() / 3600.0;
        let is_complete = found.coverage_pct >= COMPLETE_PCT && 100.0 * whole.hours >= COMPLETE_PCT * length_h;
        let tonnes = |code: &str| shift.tonnes(code, self.plant, self.settings);
        let is_known = shift.products.keys().flatten().all(|code| products.contains(code) || tonnes(code) == 0.0);
        if !is_complete || !is_known {
            return None;
        }
        let each = products.iter().map(|code| tonnes(code));
        let mut values: Vec<f64> = match mix {
            Mix::Apart => each.collect(),
            Mix::Together => vec![each.sum()],
        };
        values.push(found.idle_h);
        if weather {
            values.push(found.ambient_c?);
        }
        Some(BaselinePoint { starts: shift.shift.starts, energy_kwh: found.energy_kwh?, values })
    }
}

/// How production enters the baseline.
#[derive(Clone, Copy)]
enum Mix {
    /// A variable for each product.
    Apart,
    /// One for all.
    Together,
}

fn variables(products: &[Arc<str>], mix: Mix, weather: bool) -> Vec<Variable> {
    let variable = |name: &str, unit: &str| Variable { name: name.into(), unit: unit.into() };
    let mut variables: Vec<Variable> = match mix {
        Mix::Apart => products.iter().map(|code| variable(code, "t")).collect(),
        Mix::Together => vec![variable("production", "t")],
    };
    variables.push(variable("idle time", "h"));
    if weather {
        variables.push(variable("ambient temperature", "degC"));
    }
    variables
}

//! The energy baseline of a line: fitted to the shifts of its period, and what other shifts are against it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use balance::energy::{
    Baseline, BaselinePoint, BaselineRefused, FitQuality, Saving, Turn, Variable, record, saving, turn,
};
use chrono::NaiveDate;
use reading::{LineIndex, ShiftCalendar, ShiftInstance};

use super::books::Books;
use super::period::Group;
use super::row::EnergyRow;
use super::shift::ShiftTally;

/// A record with less coverage than this, or of less than this share of its shift, is no point of a baseline.
const COMPLETE_PCT: f64 = 95.0;
/// A relevant variable must occur in this share of the shifts.
const OCCURS: f64 = 0.2;

/// The shifts that begin on local dates from the first on and before the second.
pub(crate) fn shifts_of(calendar: &ShiftCalendar, (from, to): (NaiveDate, NaiveDate)) -> Vec<ShiftInstance> {
    let within = |shift: &ShiftInstance| shift.date >= from && shift.date < to;
    calendar.between(calendar.midnight(from), calendar.midnight(to)).into_iter().filter(within).collect()
}

/// The baseline of a line, with how its shifts are read.
pub(crate) struct LineBaseline {
    pub(crate) fitted: Baseline,
    line: LineIndex,
    products: Vec<Arc<str>>,
    mix: Mix,
    weather: bool,
}

/// Shifts held against a baseline.
pub(crate) struct Comparison {
    /// Of the shifts that could be compared.
    pub(crate) saving: Saving,
    /// When its CUSUM turned, and the shift after which it did.
    pub(crate) turn: Option<(Turn, ShiftInstance)>,
    /// How many shifts could not be compared.
    pub(crate) not_compared: usize,
    /// The variables that lie beyond what the baseline has seen, and in how many shifts.
    pub(crate) beyond: BTreeMap<String, usize>,
}

/// How production enters the baseline.
#[derive(Clone, Copy)]
enum Mix {
    /// A variable for each product.
    Apart,
    /// One for all.
    Together,
}

impl LineBaseline {
    /// Fits the baseline of these shifts, with the weather as a variable if it is known throughout.
    ///
    /// # Errors
    /// The shifts give no baseline, with the reason.
    pub(crate) fn fit(
        books: &Books<'_>,
        line: LineIndex,
        shifts: &[ShiftTally],
        weather: bool,
    ) -> Result<Self, BaselineRefused> {
        let products = often_baked(books, shifts);
        let fit = |mix: Mix| {
            let point = |shift: &ShiftTally| point(books, line, shift, &products, mix, weather);
            let points: Vec<BaselinePoint> = shifts.iter().filter_map(point).collect();
            Baseline::fit(&variables(&products, mix, weather), &points)
        };
        // Products apart explain more and need more shifts: whichever scatters less about its fit.
        let scatter = |quality: FitQuality| quality.cv_rmse;
        let (fitted, mix) = match (fit(Mix::Apart), fit(Mix::Together)) {
            (Ok(apart), Ok(together)) if scatter(apart.quality) < scatter(together.quality) => (apart, Mix::Apart),
            (_, Ok(together)) => (together, Mix::Together),
            (Ok(apart), Err(_)) => (apart, Mix::Apart),
            (Err(_), Err(why)) => return Err(why),
        };
        Ok(Self { fitted, line, products, mix, weather })
    }

    /// Holds shifts against it, and writes what they saved into the rows of their groups.
    pub(crate) fn compare(
        &self,
        books: &Books<'_>,
        shifts: &[ShiftTally],
        groups: &[Group],
        rows: &mut [EnergyRow],
    ) -> Comparison {
        let point = |shift: &ShiftTally| {
            point(books, self.line, shift, &self.products, self.mix, self.weather)
                .filter(|point| self.fitted.is_of_its_kind(&point.values))
        };
        let placed = shifts.iter().enumerate().filter_map(|(place, shift)| Some((place, point(shift)?)));
        let (places, compared): (Vec<usize>, Vec<BaselinePoint>) = placed.unzip();
        let saved = saving(&self.fitted, &compared);
        let mut beyond = BTreeMap::new();
        for variable in compared.iter().flat_map(|point| self.fitted.beyond(&point.values)) {
            *beyond.entry(variable.name.clone()).or_insert(0) += 1;
        }
        let each: BTreeMap<usize, f64> = places.iter().copied().zip(saved.each_kwh.iter().copied()).collect();
        note_savings(&each, groups, rows);
        Comparison {
            turn: turn(&saved.each_kwh).map(|turn| (turn, shifts[places[turn.at]].shift.clone())),
            not_compared: shifts.len() - compared.len(),
            saving: saved,
            beyond,
        }
    }
}

/// Writes what each shift saved, by its place, into the rows of the groups that have all of their shifts.
fn note_savings(each: &BTreeMap<usize, f64>, groups: &[Group], rows: &mut [EnergyRow]) {
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
}

/// The products that occur often enough to be a variable; seldom ones would be fitted to a handful of shifts.
fn often_baked(books: &Books<'_>, shifts: &[ShiftTally]) -> Vec<Arc<str>> {
    let all: BTreeSet<Arc<str>> = shifts.iter().flat_map(|shift| shift.products.keys().flatten().cloned()).collect();
    let often = |code: &Arc<str>| {
        let found = shifts.iter().filter(|shift| shift.tonnes(code, books.plant, books.settings) > 0.0).count();
        found as f64 >= OCCURS * shifts.len() as f64
    };
    all.into_iter().filter(often).collect()
}

/// A complete shift as the baseline sees it. One that baked what the baseline does not know is none.
fn point(
    books: &Books<'_>,
    line: LineIndex,
    shift: &ShiftTally,
    products: &[Arc<str>],
    mix: Mix,
    weather: bool,
) -> Option<BaselinePoint> {
    let whole = shift.whole();
    let found = record(&whole, books.plant, line, &books.settings.energy.settings);
    let length_h = (shift.shift.ends - shift.shift.starts).as_seconds() / 3600.0;
    let is_complete = found.coverage_pct >= COMPLETE_PCT && 100.0 * whole.hours >= COMPLETE_PCT * length_h;
    let tonnes = |code: &str| shift.tonnes(code, books.plant, books.settings);
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

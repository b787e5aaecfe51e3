//! Energy as the command `energy` accounts for it.

use balance::energy::{Missing, Variable};
use physics::combustion::HeatBasis;
use reading::Span;
use web::api::{
    EnergyAccount, EnergyAnswers, EnergyBaseline, EnergyBeyond, EnergyBy, EnergyColumn, EnergyFactors, EnergyQuery,
    EnergyRecord, EnergySaving, EnergyTurn, EnergyVariable, MissingForEnergy, Refusal,
};

use super::same::same;
use super::{Api, failed, timestamp};
use crate::energy::{Account, BaselineOutcome, Books, By, CAUTION, COLUMNS, Comparison, EnergyRow, shifts_of};
use crate::table::{self, Object};

/// Without a beginning, so far back.
const USUAL: Span = Span::minutes(7 * 24 * 60);
/// The longest period at once, days.
const LONGEST_DAYS: i64 = 400;

impl EnergyAnswers for Api {
    fn energy(&self, query: &EnergyQuery) -> Result<EnergyAccount, Refusal> {
        let account = self.account(query)?;
        let saving = match &account.baseline {
            BaselineOutcome::Stands(stands) => Some(saving(&stands.1)),
            BaselineOutcome::NotAsked | BaselineOutcome::Refused(_) => None,
        };
        let missing = |missing: &Missing| MissingForEnergy {
            lacks: missing.lacks.clone(),
            without: missing.without.clone(),
            write: missing.write.clone(),
        };
        Ok(EnergyAccount {
            line: query.line.clone(),
            by: query.by,
            records: account.rows.iter().map(record).collect::<Result<_, _>>()?,
            whole: record(&account.whole)?,
            baseline: self.baseline(query, &account.baseline),
            saving,
            missing: account.missing.iter().map(missing).collect(),
            factors: self.factors(),
            caution: CAUTION.into(),
        })
    }

    fn energy_csv(&self, query: &EnergyQuery) -> Result<Vec<u8>, Refusal> {
        let mut csv = Vec::new();
        table::write_csv(COLUMNS, &self.account(query)?.rows, &mut csv).map_err(failed)?;
        Ok(csv)
    }

    fn energy_columns(&self) -> Result<Vec<EnergyColumn>, Refusal> {
        let column = |column: &table::Column<EnergyRow>| EnergyColumn {
            name: column.name.into(),
            kind: column.kind().into(),
            unit: column.unit.into(),
            meaning: column.meaning.into(),
        };
        Ok(COLUMNS.iter().map(column).collect())
    }
}

impl Api {
    fn account(&self, query: &EnergyQuery) -> Result<Account, Refusal> {
        let (line, described) = self.line(&query.line)?;
        let nothing = || Refusal::NotFound(format!("Nothing was measured on {} in the time asked for.", described.id));
        let (oldest, newest) = self.store.span().map_err(failed)?.ok_or_else(nothing)?;
        let to = query.period.to.map_or(newest + Span(1), timestamp).min(newest + Span(1));
        let from = query.period.from.map_or(to - USUAL, timestamp).max(oldest);
        if from >= to {
            return Err(nothing());
        }
        if to - from > Span::minutes(LONGEST_DAYS * 24 * 60) {
            return Err(Refusal::Wrong(format!("More than {LONGEST_DAYS} days are asked for. Ask for fewer at once.")));
        }
        let calendar = &self.plant.shifts;
        let baseline = query.baseline.or(self.settings.energy.baseline);
        if baseline.is_some_and(|(from, to)| (to - from).num_days() > LONGEST_DAYS) {
            let detail = format!("The baseline period is longer than {LONGEST_DAYS} days. Choose a shorter one.");
            return Err(Refusal::Wrong(detail));
        }
        let baseline = baseline.map(|dates| shifts_of(calendar, dates));
        let books = Books::open(&self.store, &self.plant, &self.settings).map_err(failed)?;
        let by = match query.by {
            EnergyBy::Shift => By::Shift,
            EnergyBy::Day => By::Day,
            EnergyBy::Month => By::Month,
            EnergyBy::Product => By::Product,
        };
        let account = books.account(line, &calendar.between(from, to), baseline.as_deref(), by).map_err(failed)?;
        account.ok_or_else(nothing)
    }

    fn baseline(&self, query: &EnergyQuery, outcome: &BaselineOutcome) -> Option<EnergyBaseline> {
        let (from, to) = query.baseline.or(self.settings.energy.baseline)?;
        let mut told = EnergyBaseline {
            from: from.to_string(),
            to: to.to_string(),
            refused: None,
            constant_kwh: None,
            variables: Vec::new(),
            left_out: Vec::new(),
            records: None,
            r2: None,
            cv_rmse_pct: None,
            nmbe_pct: None,
        };
        match outcome {
            BaselineOutcome::NotAsked => return None,
            BaselineOutcome::Refused(why) => told.refused = Some(why.to_string()),
            BaselineOutcome::Stands(stands) => {
                let baseline = &stands.0;
                let (fit, quality) = (&baseline.fit, baseline.quality);
                let variable = |(variable, (slope, error)): (&Variable, (&f64, &f64))| EnergyVariable {
                    name: variable.name.clone(),
                    unit: variable.unit.clone(),
                    kwh_per_unit: *slope,
                    error_kwh_per_unit: *error,
                };
                told.constant_kwh = Some(fit.constant);
                told.variables =
                    baseline.variables.iter().zip(fit.coefficients.iter().zip(&fit.errors)).map(variable).collect();
                told.left_out = baseline.left_out.iter().map(|variable| variable.name.clone()).collect();
                told.records = Some(quality.records);
                told.r2 = Some(quality.r2);
                told.cv_rmse_pct = Some(100.0 * quality.cv_rmse);
                told.nmbe_pct = Some(100.0 * quality.nmbe);
            }
        }
        Some(told)
    }

    fn factors(&self) -> EnergyFactors {
        let energy = &self.settings.energy.settings;
        let basis = |basis| if basis == HeatBasis::Gross { "gross" } else { "net" };
        EnergyFactors {
            currency: self.settings.costs.as_ref().map(|costs| costs.currency.clone()),
            gas_kwh_per_m3: energy.gas.map(|gas| gas.kwh_per_m3),
            gas_basis: energy.gas.map(|gas| basis(gas.basis).into()),
            gas_per_kwh: energy.prices.gas_per_kwh,
            electricity_per_kwh: energy.prices.electricity_per_kwh,
            gas_co2_kg_per_kwh: energy.carbon.gas.as_ref().map(|factor| factor.kg_per_kwh),
            gas_co2_source: energy.carbon.gas.as_ref().map(|factor| factor.source.clone()),
            electricity_co2_kg_per_kwh: energy.carbon.electricity.as_ref().map(|factor| factor.kg_per_kwh),
            electricity_co2_source: energy.carbon.electricity.as_ref().map(|factor| factor.source.clone()),
            boiler_efficiency_pct: 100.0 * energy.boiler.boiler.efficiency,
            useful_steam_s: energy.useful_steam.0,
        }
    }
}

fn record(row: &EnergyRow) -> Result<EnergyRecord, Refusal> {
    same(&Object { columns: COLUMNS, row })
}

fn saving(comparison: &Comparison) -> EnergySaving {
    let saving = &comparison.saving;
    let turn = comparison.turn.as_ref().map(|(turn, shift)| EnergyTurn {
        date: shift.date.to_string(),
        shift: shift.name.to_string(),
        before_kwh: turn.before_kwh,
        after_kwh: turn.after_kwh,
    });
    let beyond = |(variable, shifts): (&String, &usize)| EnergyBeyond { variable: variable.clone(), shifts: *shifts };
    EnergySaving {
        kwh: saving.kwh(),
        uncertainty_kwh: saving.uncertainty_kwh,
        share_pct: (saving.expected_kwh > 0.0).then(|| 100.0 * saving.share()),
        is_certain: saving.is_certain(),
        expected_kwh: saving.expected_kwh,
        actual_kwh: saving.actual_kwh,
        shifts: saving.each_kwh.len(),
        not_compared: comparison.not_compared,
        turn,
        beyond: comparison.beyond.iter().map(beyond).collect(),
    }
}

//! How many ways of running there are, and which windows are none of them.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::mixture::{Component, Mixture};
use crate::start::{Responsibilities, Start};
use crate::statistics::SquareMatrix;
use crate::statistics::robust::truncation_correction;
use crate::{LearnSettings, NotEnough};

/// Rounds of trimming and fitting again after the first fit.
const TRIM_ROUNDS: usize = 2;
/// Ends the fits that only decide what is trimmed: the least gain in mean log likelihood of a row.
const ROUGH_TOLERANCE: f64 = 1e-3;
/// A component must draw at least this share of its rows from a second run.
const SECOND_RUN_SHARE: f64 = 0.1;

/// What was found for one number of components.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trial {
    /// Number of components.
    pub components: usize,
    /// Log likelihood of the windows kept, in independent windows; none if no fit was accepted.
    pub log_likelihood: Option<f64>,
    /// Bayesian information criterion, lower is better; none if no fit was accepted.
    pub bic: Option<f64>,
    /// Why no fit was accepted.
    pub refused: Option<String>,
}

/// Rows to be fitted: in scaled units, each with its run.
pub(crate) struct Rows<'a> {
    pub(crate) values: &'a [Vec<f64>],
    pub(crate) runs: &'a [u32],
    /// How many independent windows a row stands for, 0 to 1.
    pub(crate) independence: f64,
}

/// The mixture with the lowest BIC over 1 to `max_components`, and every trial.
pub(crate) fn choose_mixture(rows: &Rows<'_>, settings: &LearnSettings) -> Result<(Mixture, Vec<Trial>), NotEnough> {
    let mut trials: Vec<Trial> = Vec::new();
    let mut best: Option<(f64, Mixture)> = None;
    let mut steps_uphill = 0;
    for components in 1..=settings.max_components {
        steps_uphill += 1;
        let trial = match best_fit(rows, components, settings) {
            Err(reason) => Trial { components, log_likelihood: None, bic: None, refused: Some(reason) },
            Ok(fit) => {
                let bic = fit.bic(rows.independence);
                let log_likelihood = fit.log_likelihood * rows.independence;
                if best.as_ref().is_none_or(|(lowest, _)| bic < *lowest) {
                    best = Some((bic, fit.mixture));
                    steps_uphill = 0;
                }
                Trial { components, log_likelihood: Some(log_likelihood), bic: Some(bic), refused: None }
            }
        };
        trials.push(trial);
        // BIC has one valley in practice; two steps uphill are past it.
        if steps_uphill == 2 && best.is_some() {
            break;
        }
    }
    let Some((_, mut mixture)) = best else {
        let reason = trials.into_iter().find_map(|trial| trial.refused).unwrap_or_default();
        return Err(NotEnough::NoFit { windows: rows.values.len(), reason });
    };
    undo_truncation(&mut mixture, settings);
    Ok((mixture, trials))
}

/// A mixture, the rows it was fitted to after the least likely were cut off, and their likelihood.
pub(crate) struct TrimmedFit {
    mixture: Mixture,
    kept: Vec<usize>,
    pub(crate) log_likelihood: f64,
}

impl TrimmedFit {
    /// Schwarz's information criterion, lower is better, with each row counted as the share of an
    /// independent window that it is.
    pub(crate) fn bic(&self, independence: f64) -> f64 {
        let independent = (self.kept.len() as f64 * independence).max(1.0);
        -2.0 * self.log_likelihood * independence + self.mixture.parameters() as f64 * independent.ln()
    }
}

/// The likeliest fit over all starts.
pub(crate) fn best_fit(rows: &Rows<'_>, components: usize, settings: &LearnSettings) -> Result<TrimmedFit, String> {
    // With one component every start is the same.
    let restarts = if components == 1 { 1 } else { settings.restarts };
    let mut best: Option<TrimmedFit> = None;
    let mut refused = String::new();
    for restart in 0..restarts {
        let start = Start { restart, seed: settings.seed };
        match fit_from(rows, &start.responsibilities(rows.values, components), settings) {
            Err(reason) => refused = reason,
            Ok(fit) if best.as_ref().is_none_or(|best| fit.log_likelihood > best.log_likelihood) => best = Some(fit),
            Ok(_) => {}
        }
    }
    // Only the likeliest is worth settling to the last digit.
    let rough = best.ok_or(refused)?;
    let fine = refit(rows, &rough, settings.tolerance, settings)?;
    require_seen_often(&fine, rows, settings)?;
    Ok(fine)
}

/// Fit, cut off the least likely rows, fit again to the others, and so on.
fn fit_from(rows: &Rows<'_>, start: &Responsibilities, settings: &LearnSettings) -> Result<TrimmedFit, String> {
    let mixture = Mixture::fit(rows.values, start, settings.covariance_floor, ROUGH_TOLERANCE)?;
    let mut fit = trim(mixture, rows, settings)?;
    for _ in 0..TRIM_ROUNDS {
        fit = refit(rows, &fit, ROUGH_TOLERANCE, settings)?;
    }
    require_seen_often(&fit, rows, settings)?;
    Ok(fit)
}

/// The next round: the mixture goes on from where it is, with the rows that were kept.
fn refit(rows: &Rows<'_>, fit: &TrimmedFit, tolerance: f64, settings: &LearnSettings) -> Result<TrimmedFit, String> {
    let density = fit.mixture.density().map_err(|error| error.to_string())?;
    let values: Vec<Vec<f64>> = fit.kept.iter().map(|&row| rows.values[row].clone()).collect();
    let start: Responsibilities = values.iter().map(|row| density.responsibilities(row)).collect();
    trim(Mixture::fit(&values, &start, settings.covariance_floor, tolerance)?, rows, settings)
}

/// Cuts off the rows that are least likely under the mixture.
fn trim(mixture: Mixture, rows: &Rows<'_>, settings: &LearnSettings) -> Result<TrimmedFit, String> {
    let density = mixture.density().map_err(|error| error.to_string())?;
    let log_densities: Vec<f64> = rows.values.iter().map(|row| density.log_density(row)).collect();
    let cut_off = (rows.values.len() as f64 * settings.trim_share) as usize;
    let kept = most_likely(&log_densities, rows.values.len() - cut_off);
    let log_likelihood = kept.iter().map(|&row| log_densities[row]).sum();
    Ok(TrimmedFit { mixture, kept, log_likelihood })
}

/// Indices of the `count` highest values, ascending.
fn most_likely(log_densities: &[f64], count: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..log_densities.len()).collect();
    order.sort_by(|&left, &right| log_densities[right].total_cmp(&log_densities[left]));
    order.truncate(count);
    order.sort_unstable();
    order
}

/// Refuses a mixture with a component that is too seldom seen, or seen in one run only.
fn require_seen_often(fit: &TrimmedFit, rows: &Rows<'_>, settings: &LearnSettings) -> Result<(), String> {
    let TrimmedFit { mixture, kept, .. } = fit;
    if mixture.components.len() == 1 {
        return Ok(());
    }
    let density = mixture.density().map_err(|error| error.to_string())?;
    let mut rows_by_run: Vec<BTreeMap<u32, usize>> = vec![BTreeMap::new(); mixture.components.len()];
    for &row in kept {
        let parts = density.log_parts(&rows.values[row]);
        let nearest = (0..parts.len()).max_by(|&left, &right| parts[left].total_cmp(&parts[right])).unwrap_or(0);
        *rows_by_run[nearest].entry(rows.runs[row]).or_insert(0) += 1;
    }
    let width = mixture.components[0].mean.len();
    for by_run in rows_by_run {
        let count: usize = by_run.values().sum();
        let largest = by_run.values().copied().max().unwrap_or(0);
        if (count as f64) < settings.minimum_component_share * kept.len() as f64 || count <= 2 * width {
            return Err(format!("a component would hold only {count} of {} windows", kept.len()));
        }
        if ((count - largest) as f64) < SECOND_RUN_SHARE * count as f64 {
            return Err("a component would come from a single run".to_owned());
        }
    }
    Ok(())
}

/// The covariances of what was kept are those of a truncated cloud: enlarge them to the whole, but not
/// the floor that was added to them.
fn undo_truncation(mixture: &mut Mixture, settings: &LearnSettings) {
    for Component { covariance, .. } in &mut mixture.components {
        let correction = truncation_correction(1.0 - settings.trim_share, covariance.size());
        *covariance = SquareMatrix::from_fn(covariance.size(), |row, column| {
            let floor = if row == column { settings.covariance_floor } else { 0.0 };
            (covariance.get(row, column) - floor) * correction + floor
        });
    }
}

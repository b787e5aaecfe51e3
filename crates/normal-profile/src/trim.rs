//! How many ways of running there are, and which windows are none of them.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::mixture::{FitSettings, Mixture};
use crate::statistics::robust::truncation_correction;
use crate::{LearnSettings, NotEnough};

/// Rounds of fit and trim.
const TRIM_ROUNDS: usize = 2;
/// Ends the fits that only decide what is trimmed.
const ROUGH_TOLERANCE: f64 = 1e-3;
/// Ends the fit that is kept.
const FINE_TOLERANCE: f64 = 1e-5;
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
    let mut worse_in_a_row = 0;
    for components in 1..=settings.max_components.max(1) {
        let fits: Vec<_> = (0..settings.restarts.max(1) as u64)
            // One component has only one best fit.
            .take(if components == 1 { 1 } else { settings.restarts.max(1) })
            .map(|restart| trimmed_fit(rows, components, restart, settings))
            .collect();
        let refused = fits.iter().find_map(|fit| fit.as_ref().err().cloned());
        let accepted = fits.into_iter().flatten().max_by(|left, right| left.1.total_cmp(&right.1));
        let Some((mixture, log_likelihood)) = accepted else {
            trials.push(Trial { components, log_likelihood: None, bic: None, refused });
            worse_in_a_row += 1;
            continue;
        };
        let independent = kept_count(rows.values.len(), settings) as f64 * rows.independence;
        let log_likelihood = log_likelihood * rows.independence;
        let bic = -2.0 * log_likelihood + mixture.parameters() as f64 * independent.max(1.0).ln();
        trials.push(Trial { components, log_likelihood: Some(log_likelihood), bic: Some(bic), refused: None });
        if best.as_ref().is_none_or(|(lowest, _)| bic < *lowest) {
            best = Some((bic, mixture));
            worse_in_a_row = 0;
        } else {
            worse_in_a_row += 1;
        }
        // BIC has one valley in practice; two steps uphill are past it.
        if worse_in_a_row == 2 {
            break;
        }
    }
    let Some((_, mut mixture)) = best else {
        let reason = trials.into_iter().find_map(|trial| trial.refused).unwrap_or_default();
        return Err(NotEnough::NoFit { windows: rows.values.len(), reason });
    };
    undo_truncation(&mut mixture, settings.trim_share);
    Ok((mixture, trials))
}

/// Number of rows kept when the share to be trimmed is cut off.
fn kept_count(rows: usize, settings: &LearnSettings) -> usize {
    rows - (rows as f64 * settings.trim_share) as usize
}

/// Fit, cut off the least likely rows, fit again: the mixture and the log likelihood of its rows.
fn trimmed_fit(
    rows: &Rows<'_>,
    components: usize,
    restart: u64,
    settings: &LearnSettings,
) -> Result<(Mixture, f64), String> {
    let kept_count = kept_count(rows.values.len(), settings);
    let rounds = if kept_count == rows.values.len() { 0 } else { TRIM_ROUNDS };
    let fit = |values: &[Vec<f64>], tolerance| {
        let covariance_floor = settings.covariance_floor;
        Mixture::fit(values, &FitSettings { components, covariance_floor, tolerance, restart, seed: settings.seed })
    };
    let mut kept: Vec<usize> = (0..rows.values.len()).collect();
    for round in 0..=rounds {
        let values: Vec<Vec<f64>> = kept.iter().map(|&row| rows.values[row].clone()).collect();
        let mixture = fit(&values, if round == rounds { FINE_TOLERANCE } else { ROUGH_TOLERANCE })?;
        let log_densities = log_densities(&mixture, rows.values)?;
        kept = most_likely(&log_densities, kept_count);
        if round == rounds {
            require_seen_often(&mixture, rows, &kept, settings)?;
            return Ok((mixture, kept.iter().map(|&row| log_densities[row]).sum()));
        }
    }
    Err("no round of fitting was made".to_owned())
}

fn log_densities(mixture: &Mixture, rows: &[Vec<f64>]) -> Result<Vec<f64>, String> {
    let density = mixture.density().map_err(|error| error.to_string())?;
    Ok(rows.iter().map(|row| density.log_density(row)).collect())
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
fn require_seen_often(
    mixture: &Mixture,
    rows: &Rows<'_>,
    kept: &[usize],
    settings: &LearnSettings,
) -> Result<(), String> {
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

/// The covariances of what was kept are those of a truncated cloud: enlarge them to the whole.
fn undo_truncation(mixture: &mut Mixture, trim_share: f64) {
    for component in &mut mixture.components {
        let correction = truncation_correction(1.0 - trim_share, component.mean.len());
        component.covariance = component.covariance.scaled(correction);
    }
}

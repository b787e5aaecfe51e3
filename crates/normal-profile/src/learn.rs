//! From windows to a normal: screen, scale, fit and trim, measure what is left.

use std::collections::BTreeSet;

use crate::checksum::data_checksum;
use crate::departure::Calibration;
use crate::mixture::Mixture;
use crate::normal::{DataUsed, Normal, NormalRecord, SpeedRange, Standing, Unusable};
use crate::observation::{Columns, Observation, RiseChange};
use crate::rises::{learn_practice, learn_settled_practice, rises_in_fixed_order};
use crate::scaling::Scaling;
use crate::screening::{LeftOut, LeftOutReason, Screened, UsableWindow, in_fixed_order, screen};
use crate::statistics::{Cholesky, LinearError, SquareMatrix, quantile};
use crate::steadiness::{drift, memory_in_windows, window_noise};
use crate::trim::{Rows, Trial, choose_mixture};
use crate::zone_response::zone_responses;
use crate::{LearnSettings, NormalKey, NotEnough};

/// A window farther out than this squared distance (all windows taken as one cloud) is a fault and
/// no way of running; linfa's likelihood would underflow on it.
const FAR_OUTSIDE: f64 = 600.0;
/// A value this many spreads from the median is no measurement; squared, it would drown all others.
const ABSURD: f64 = 1e4;
/// The learned speed range leaves out this share of the windows at either end.
const SPEED_RANGE_SHARE: f64 = 0.005;

/// Learns the normal of a product on a line.
///
/// The same windows, rises, settings and program give the same normal, in whatever order the
/// windows and rises come. An error says what is missing for a normal.
pub fn learn(
    key: NormalKey,
    observations: &[Observation],
    rises: &[RiseChange],
    settings: &LearnSettings,
) -> Result<Normal, NotEnough> {
    settings.check()?;
    let sorted = in_fixed_order(observations);
    let rises = rises_in_fixed_order(rises);
    let checksum = data_checksum(&sorted, &rises);

    let Screened { columns, mut windows, mut left_out } = screen(sorted, settings)?;
    let scaling = scaling_of(&windows, &columns, settings.covariance_floor);
    let far_outside = drop_far_outside(&mut windows, &scaling, settings.covariance_floor);
    left_out.insert(LeftOutReason::FarOutside, far_outside);

    let memory_windows = memory_in_windows(&windows);
    let scaled: Vec<Vec<f64>> = windows.iter().map(|window| scaling.scale(&window.vector)).collect();
    let (mixture, trials) = fit(&windows, &scaled, memory_windows, settings)?;
    let unusable = |error: Unusable| NotEnough::NoFit { windows: windows.len(), reason: error.to_string() };

    let kept = likely_windows(&mixture, &scaled, settings.trim_share).map_err(|error| unusable(error.into()))?;
    let windows_used = kept.iter().filter(|kept| **kept).count();
    left_out.insert(LeftOutReason::Unlikely, windows.len() - windows_used);
    left_out.retain(|_, windows| *windows > 0);

    let (practice, rise_history) = learn_practice(&rises, columns.zones);
    let record = NormalRecord {
        key,
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        standing: Standing::Proposed,
        data: DataUsed {
            from_us: windows.first().map_or(0, |window| window.time_us),
            to_us: windows.last().map_or(0, |window| window.time_us),
            windows_given: observations.len(),
            windows_used,
            left_out: left_out.into_iter().map(|(reason, windows)| LeftOut { reason, windows }).collect(),
            runs: windows.iter().map(|window| window.run).collect::<BTreeSet<_>>().len(),
            hours: windows_used as f64 * settings.window_s / 3600.0,
            checksum,
        },
        speeds: speed_range(&windows, &kept),
        window_noise: window_noise(&windows, columns.zones),
        drift: drift(&windows, columns.zones),
        responses: zone_responses(&windows, columns.zones, settings.window_s),
        rises: practice,
        settled_rises: learn_settled_practice(&rises, columns.zones),
        rise_history,
        columns,
        scaling,
        seed: settings.seed,
        memory_windows,
        independent_windows: windows_used as f64 / memory_windows,
        trials,
        mixture,
        calibration: Calibration::default(),
    };
    let mut normal = Normal::from_record(record).map_err(unusable)?;
    let scores: Vec<f64> = windows.iter().map(|window| normal.score(&window.vector)).collect();
    let runs: Vec<u32> = windows.iter().map(|window| window.run).collect();
    normal.record.calibration = Calibration::of(&scores, &kept, &runs);
    Ok(normal)
}

fn scaling_of(windows: &[UsableWindow], columns: &Columns, covariance_floor: f64) -> Scaling {
    let rows: Vec<&[f64]> = windows.iter().map(|window| window.vector.as_slice()).collect();
    Scaling::of(&rows, columns, covariance_floor)
}

/// Drops the windows far outside the cloud of all windows; how many.
fn drop_far_outside(windows: &mut Vec<UsableWindow>, scaling: &Scaling, covariance_floor: f64) -> usize {
    let given = windows.len();
    windows.retain(|window| scaling.scale(&window.vector).iter().all(|value| value.abs() <= ABSURD));
    // A gross value hides others behind the spread it makes: look again after dropping some.
    loop {
        let before = windows.len();
        let scaled: Vec<Vec<f64>> = windows.iter().map(|window| scaling.scale(&window.vector)).collect();
        let Some((mean, factor)) = one_cloud(&scaled, covariance_floor) else { break };
        let mut rows = scaled.iter();
        windows.retain(|_| {
            let row = rows.next().map_or(&[][..], Vec::as_slice);
            let difference: Vec<f64> = row.iter().zip(&mean).map(|(value, mean)| value - mean).collect();
            factor.squared_distance(&difference).is_ok_and(|distance| distance <= FAR_OUTSIDE)
        });
        if windows.len() == before {
            break;
        }
    }
    given - windows.len()
}

/// Mean and factored covariance of all rows.
fn one_cloud(rows: &[Vec<f64>], covariance_floor: f64) -> Option<(Vec<f64>, Cholesky)> {
    let width = rows.first()?.len();
    let count = rows.len() as f64;
    let mean: Vec<f64> = (0..width).map(|column| rows.iter().map(|row| row[column]).sum::<f64>() / count).collect();
    let mut covariance = SquareMatrix::diagonal(&vec![covariance_floor; width]);
    for row in rows {
        let difference: Vec<f64> = row.iter().zip(&mean).map(|(value, mean)| value - mean).collect();
        covariance.add_outer(&difference, 1.0 / count);
    }
    Some((mean, Cholesky::factor(&covariance).ok()?))
}

/// Fits the mixture, to every n-th window where there are more than a fit needs to see.
///
/// In BIC the windows count only as the independent ones they amount to, lest every slow drift
/// become a component.
fn fit(
    windows: &[UsableWindow],
    scaled: &[Vec<f64>],
    memory_windows: f64,
    settings: &LearnSettings,
) -> Result<(Mixture, Vec<Trial>), NotEnough> {
    let step = scaled.len().div_ceil(settings.most_windows_fitted).max(1);
    let values: Vec<Vec<f64>> = scaled.iter().step_by(step).cloned().collect();
    let runs: Vec<u32> = windows.iter().step_by(step).map(|window| window.run).collect();
    let independence = (step as f64 / memory_windows).min(1.0);
    choose_mixture(&Rows { values: &values, runs: &runs, independence }, settings)
}

/// For each window whether it is likely enough to count; the least likely share is not.
fn likely_windows(mixture: &Mixture, scaled: &[Vec<f64>], trim_share: f64) -> Result<Vec<bool>, LinearError> {
    let density = mixture.density()?;
    let log_densities: Vec<f64> = scaled.iter().map(|row| density.log_density(row)).collect();
    let threshold = quantile(&log_densities, trim_share);
    Ok(log_densities.iter().map(|&log_density| log_density >= threshold).collect())
}

fn speed_range(windows: &[UsableWindow], kept: &[bool]) -> SpeedRange {
    let ln_speeds: Vec<f64> = windows
        .iter()
        .zip(kept)
        .filter(|(_, kept)| **kept)
        .filter_map(|(window, _)| window.vector.last().copied())
        .collect();
    SpeedRange {
        slowest_m_min: quantile(&ln_speeds, SPEED_RANGE_SHARE).exp(),
        fastest_m_min: quantile(&ln_speeds, 1.0 - SPEED_RANGE_SHARE).exp(),
    }
}

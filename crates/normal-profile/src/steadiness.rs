//! How a zone's humidity moves by itself while nothing is changed: from one window to the next, over
//! half an hour, and for how long it remembers.

use crate::screening::UsableWindow;
use crate::statistics::{SquareMatrix, TrimmedScatter, median, trimmed_scatter};

/// Longest memory that is looked for, windows (one hour at 30 s).
const LONGEST_MEMORY: usize = 120;
/// A correlation below this counts as forgotten.
const FORGOTTEN: f64 = 0.05;
/// Windows averaged on either side when drift is measured (5 min at 30 s).
const DRIFT_BLOCK: usize = 10;
/// Windows from the middle of one block to that of the other (20 min at 30 s).
const DRIFT_LAG: usize = 40;
/// The speed is steady while ln speed changes less than this.
const STEADY_SPEED: f64 = 0.01;
/// Least drift of a zone's ln humidity over the lag.
const LEAST_DRIFT: f64 = 0.01;
/// Drift taken where the runs are too short to measure it.
const ASSUMED_DRIFT: f64 = 0.03;
/// Fewest pairs of blocks from which drift is measured.
const FEWEST_PAIRS: usize = 20;

/// The windows of each run, in order of time.
fn by_run(windows: &[UsableWindow]) -> Vec<&[UsableWindow]> {
    windows.chunk_by(|left, right| left.run == right.run).collect()
}

/// How many windows count as one independent window. At least 1.
///
/// Neighbouring windows tell the same story twice, and BIC has to be told. What a mixture learns is
/// nearly all covariances, and the covariance of two series with autocorrelations r and s is known as
/// well as from every (1 + 2 Σ r s)-th window (Bartlett's formula); taken here over the mean
/// autocorrelation of all quantities within a run.
pub(crate) fn memory_in_windows(windows: &[UsableWindow]) -> f64 {
    let runs = by_run(windows);
    let quantities = windows.first().map_or(0, |window| window.vector.len().saturating_sub(1));
    let series: Vec<Vec<Vec<f64>>> = (0..quantities).map(|quantity| unexplained(&runs, quantity)).collect();
    let variances: Vec<f64> = series.iter().map(|runs| lagged_covariance(runs, 0)).collect();
    let mean_correlation = |lag: usize| {
        let moving = series.iter().zip(&variances).filter(|(_, variance)| **variance > 0.0);
        let correlations: Vec<f64> = moving.map(|(runs, variance)| lagged_covariance(runs, lag) / variance).collect();
        correlations.iter().sum::<f64>() / f64::max(correlations.len() as f64, 1.0)
    };
    let remembered = (1..=LONGEST_MEMORY).map(mean_correlation).take_while(|&correlation| correlation > FORGOTTEN);
    1.0 + 2.0 * remembered.map(|correlation| correlation * correlation).sum::<f64>()
}

/// A quantity in each run, less the run's mean and less what follows from speed: a speed that was
/// set at eight and kept until noon must not pass for a memory of four hours.
fn unexplained(runs: &[&[UsableWindow]], quantity: usize) -> Vec<Vec<f64>> {
    let about_mean = |run: &[UsableWindow], column: usize| -> Vec<f64> {
        let mean = run.iter().map(|window| window.vector[column]).sum::<f64>() / run.len() as f64;
        run.iter().map(|window| window.vector[column] - mean).collect()
    };
    let ln_speed = runs.first().map_or(0, |run| run[0].vector.len() - 1);
    let values: Vec<Vec<f64>> = runs.iter().map(|run| about_mean(run, quantity)).collect();
    let speeds: Vec<Vec<f64>> = runs.iter().map(|run| about_mean(run, ln_speed)).collect();
    let sum_of_products = |left: &[Vec<f64>], right: &[Vec<f64>]| -> f64 {
        left.iter().flatten().zip(right.iter().flatten()).map(|(a, b)| a * b).sum()
    };
    let speed_alone = sum_of_products(&speeds, &speeds);
    let slope = if speed_alone > 0.0 { sum_of_products(&values, &speeds) / speed_alone } else { 0.0 };
    let less_speed = |(values, speeds): (Vec<f64>, Vec<f64>)| {
        values.iter().zip(&speeds).map(|(value, speed)| value - slope * speed).collect()
    };
    values.into_iter().zip(speeds).map(less_speed).collect()
}

/// Mean product of a value and the one `lag` windows later in the same run.
fn lagged_covariance(runs: &[Vec<f64>], lag: usize) -> f64 {
    let (mut sum, mut pairs) = (0.0, 0usize);
    for run in runs.iter().filter(|run| run.len() > lag) {
        sum += run.iter().zip(&run[lag..]).map(|(early, late)| early * late).sum::<f64>();
        pairs += run.len() - lag;
    }
    sum / pairs.max(1) as f64
}

/// Standard deviation of a zone's ln humidity from one window to the next: what the sensor and the
/// moment add to every window. From the median step, so that the few real changes do not count.
pub(crate) fn window_noise(windows: &[UsableWindow], zones: usize) -> Vec<f64> {
    let noise = |zone: usize| {
        let steps: Vec<f64> = by_run(windows)
            .into_iter()
            .flat_map(|run| run.windows(2).map(move |pair| (pair[1].vector[zone] - pair[0].vector[zone]).abs()))
            .collect();
        // A difference of two windows has twice their variance.
        if steps.is_empty() { 0.0 } else { 1.4826 * median(&steps) / std::f64::consts::SQRT_2 }
    };
    (0..zones).map(noise).collect()
}

/// Covariance of the change of ln humidity over 20 minutes of steady speed.
pub(crate) fn drift(windows: &[UsableWindow], zones: usize) -> SquareMatrix {
    let changes: Vec<Vec<f64>> = by_run(windows).into_iter().flat_map(|run| drift_in_run(run, zones)).collect();
    if changes.len() < FEWEST_PAIRS {
        return SquareMatrix::diagonal(&vec![ASSUMED_DRIFT * ASSUMED_DRIFT; zones]);
    }
    let TrimmedScatter { covariance, .. } = trimmed_scatter(&changes, &vec![LEAST_DRIFT; zones]);
    covariance
}

fn drift_in_run(run: &[UsableWindow], zones: usize) -> Vec<Vec<f64>> {
    let mean = |block: &[UsableWindow], column: usize| {
        block.iter().map(|window| window.vector[column]).sum::<f64>() / block.len() as f64
    };
    let starts = (0..run.len().saturating_sub(DRIFT_LAG + DRIFT_BLOCK - 1)).step_by(DRIFT_BLOCK);
    starts
        .filter_map(|start| {
            let early = &run[start..start + DRIFT_BLOCK];
            let late = &run[start + DRIFT_LAG..start + DRIFT_LAG + DRIFT_BLOCK];
            let ln_speed = run[start].vector.len() - 1;
            let is_steady = (mean(late, ln_speed) - mean(early, ln_speed)).abs() < STEADY_SPEED;
            is_steady.then(|| (0..zones).map(|zone| mean(late, zone) - mean(early, zone)).collect())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use rand::{Rng, SeedableRng};
    use rand_xoshiro::Xoshiro256Plus;

    use super::*;

    const ZONES: usize = 2;
    const RUN: usize = 500;

    /// Windows whose two humidities remember `memory` of themselves from one window to the next, with a
    /// standard deviation of `spread` (the sum of twelve uniform numbers is normal enough).
    fn windows(count: usize, memory: f64, spread: f64) -> Vec<UsableWindow> {
        let mut random = Xoshiro256Plus::seed_from_u64(3);
        let mut normal = || (0..12).map(|_| random.gen_range(-0.5..0.5f64)).sum::<f64>();
        let mut state = [0.0; ZONES];
        let window = |at: usize| {
            for value in &mut state {
                *value = memory * *value + (1.0 - memory * memory).sqrt() * spread * normal();
            }
            // The speed is set anew every 100 windows, and the humidity follows it.
            let ln_speed = 0.1 * (at / 100 % 3) as f64;
            let vector = vec![state[0] + 2.0 * ln_speed, state[1] - ln_speed, ln_speed];
            UsableWindow { time_us: at as i64 * 30_000_000, run: (at / RUN) as u32, vector }
        };
        (0..count).map(window).collect()
    }

    /// For an autocorrelation r^lag, 1 + 2 Σ r^(2 lag) is (1 + r²) / (1 − r²).
    #[test]
    fn memory_is_that_of_the_series() {
        // Of the two, the steps of the speed are by far the larger: they must not count as memory.
        assert!((memory_in_windows(&windows(6000, 0.0, 0.02)) - 1.0).abs() < 0.1);
        let expected = (1.0 + 0.81) / (1.0 - 0.81);
        let found = memory_in_windows(&windows(6000, 0.9, 1.0));
        assert!((found / expected - 1.0).abs() < 0.2, "{found}, expected {expected}");
    }

    #[test]
    fn window_noise_does_not_see_the_slow_wander() {
        let noise = window_noise(&windows(3000, 0.0, 0.01), ZONES);
        assert!(noise.iter().all(|noise| (noise / 0.01 - 1.0).abs() < 0.1), "{noise:?}");
        // A step of a series with memory r has the variance 2 (1 − r).
        let slow = window_noise(&windows(3000, 0.98, 0.01), ZONES);
        assert!(slow.iter().all(|noise| (noise / (0.01 * 0.02f64.sqrt()) - 1.0).abs() < 0.1), "{slow:?}");
    }

    /// The difference of two means of ten independent windows has a fifth of a window's variance; steps
    /// of the speed are not drift.
    #[test]
    fn drift_is_measured_while_the_speed_is_steady() {
        let drift = drift(&windows(6000, 0.0, 0.1), ZONES);
        for zone in 0..ZONES {
            let found = drift.get(zone, zone);
            assert!((found / (0.01 / 5.0) - 1.0).abs() < 0.25, "zone {zone}: {found}");
        }
        assert!(drift.get(0, 1).abs() < 0.0004, "{drift:?}");
    }

    #[test]
    fn runs_too_short_to_drift_are_given_an_assumed_drift() {
        let mut windows = windows(200, 0.0, 0.1);
        windows.iter_mut().enumerate().for_each(|(at, window)| window.run = (at / 20) as u32);
        assert_eq!(drift(&windows, ZONES), SquareMatrix::diagonal(&[ASSUMED_DRIFT * ASSUMED_DRIFT; ZONES]));
    }
}

//! The guard before the fit: which windows are usable, in one fixed order.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use crate::observation::{Columns, Observation};
use crate::{LearnSettings, NotEnough};

/// Share of the windows in which a sensor must have spoken to be part of the normal.
const SENSOR_SHARE: f64 = 0.5;

/// Why windows were left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LeftOutReason {
    /// No speed, or none above zero.
    NoSpeed,
    /// Another number of zones than most windows have.
    OtherZones,
    /// A zone's humidity is missing.
    NoHumidity,
    /// The air temperature of a zone that usually has one is missing.
    NoTemperature,
    /// A second window for the same time.
    SameTime,
    /// So far from all others that it can only be a fault.
    FarOutside,
    /// Among the least likely windows: taken for a bad hour.
    Unlikely,
}

/// Windows left out for one reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeftOut {
    /// The reason.
    pub reason: LeftOutReason,
    /// How many.
    pub windows: usize,
}

/// One usable window: its place in time and its vector.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct UsableWindow {
    pub(crate) time_us: i64,
    pub(crate) run: u32,
    pub(crate) vector: Vec<f64>,
}

/// The usable windows in order of time.
pub(crate) struct Screened {
    pub(crate) columns: Columns,
    pub(crate) windows: Vec<UsableWindow>,
    pub(crate) left_out: BTreeMap<LeftOutReason, usize>,
}

/// The windows in order of time and, at one time, of content: given in any order they come out the
/// same, and so does the normal.
pub(crate) fn in_fixed_order(observations: &[Observation]) -> Vec<&Observation> {
    let mut sorted: Vec<&Observation> = observations.iter().collect();
    sorted.sort_by(|left, right| by_time_and_content(left, right));
    sorted
}

/// Drops what cannot be used and says why, and refuses too little data.
pub(crate) fn screen(mut sorted: Vec<&Observation>, settings: &LearnSettings) -> Result<Screened, NotEnough> {
    let mut left_out = BTreeMap::new();
    let mut leave_out = |reason| *left_out.entry(reason).or_insert(0) += 1;

    let zones = usual_zone_count(&sorted);
    sorted.retain(|observation| {
        let speed = observation.speed.0;
        let reason = if !(speed.is_finite() && speed > 0.0) {
            LeftOutReason::NoSpeed
        } else if observation.ln_humidity.len() != zones {
            LeftOutReason::OtherZones
        } else {
            return true;
        };
        leave_out(reason);
        false
    });

    let columns = Columns { zones, temperature_zones: zones_with_temperature(&sorted, zones) };
    if let Some(silent) = silent_zone(&sorted, zones) {
        return Err(silent);
    }

    let mut windows: Vec<UsableWindow> = Vec::with_capacity(sorted.len());
    for observation in sorted {
        let vector = columns.vector(observation);
        let (humidities, others) = vector.split_at(zones);
        if humidities.iter().any(|value| !value.is_finite()) {
            leave_out(LeftOutReason::NoHumidity);
        } else if others.iter().any(|value| !value.is_finite()) {
            leave_out(LeftOutReason::NoTemperature);
        } else if windows.last().is_some_and(|last| last.time_us == observation.time_us) {
            leave_out(LeftOutReason::SameTime);
        } else {
            windows.push(UsableWindow { time_us: observation.time_us, run: observation.run, vector });
        }
    }
    require_enough(&windows, settings)?;
    if zones == 0 {
        return Err(NotEnough::NoZones);
    }
    Ok(Screened { columns, windows, left_out })
}

fn by_time_and_content(left: &Observation, right: &Observation) -> Ordering {
    let values = |observation: &Observation| {
        let mut values = vec![observation.speed.0];
        values.extend(&observation.ln_humidity);
        values.extend(&observation.temperature);
        values
    };
    let by_time = left.time_us.cmp(&right.time_us).then(left.run.cmp(&right.run));
    by_time.then_with(|| total_order(&values(left), &values(right)))
}

/// Orders lists of numbers, NaN included.
pub(crate) fn total_order(left: &[f64], right: &[f64]) -> Ordering {
    let unequal = left.iter().zip(right).map(|(a, b)| a.total_cmp(b)).find(|order| order.is_ne());
    unequal.unwrap_or(left.len().cmp(&right.len()))
}

/// The number of zones that most windows have.
fn usual_zone_count(observations: &[&Observation]) -> usize {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    for observation in observations {
        *counts.entry(observation.ln_humidity.len()).or_insert(0) += 1;
    }
    counts.into_iter().max_by_key(|&(_, count)| count).map_or(0, |(zones, _)| zones)
}

fn share_with_value(observations: &[&Observation], value: impl Fn(&Observation) -> Option<f64>) -> f64 {
    let with_value = observations.iter().filter(|observation| value(observation).is_some_and(f64::is_finite));
    with_value.count() as f64 / f64::max(observations.len() as f64, 1.0)
}

fn zones_with_temperature(observations: &[&Observation], zones: usize) -> Vec<usize> {
    let has_one = |zone: &usize| {
        share_with_value(observations, |observation| observation.temperature.get(*zone).copied()) >= SENSOR_SHARE
    };
    (0..zones).filter(has_one).collect()
}

fn silent_zone(observations: &[&Observation], zones: usize) -> Option<NotEnough> {
    let share = |zone| share_with_value(observations, |observation| Some(observation.ln_humidity[zone]));
    let zone = (0..zones).find(|&zone| !observations.is_empty() && share(zone) < SENSOR_SHARE)?;
    Some(NotEnough::SilentZone { zone: zone + 1, share_pct: 100.0 * share(zone) })
}

fn require_enough(windows: &[UsableWindow], settings: &LearnSettings) -> Result<(), NotEnough> {
    let hours = windows.len() as f64 * settings.window_s / 3600.0;
    let runs = windows.iter().map(|window| window.run).collect::<BTreeSet<_>>().len();
    if hours < settings.minimum_hours || runs < settings.minimum_runs {
        return Err(NotEnough::Baking {
            hours,
            runs,
            minimum_hours: settings.minimum_hours,
            minimum_runs: settings.minimum_runs,
        });
    }
    Ok(())
}

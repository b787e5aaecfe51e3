//! Whether a normal still fits: a new burner, another season or a moved sensor makes it slip away.
//!
//! A window lies *outside* where only 5 in 100 lay when the normal was learned. A shift now and then
//! lies outside by half: a bad day is no slip. What lasts adds up in a cumulative sum over the shifts, and the sum's last rise from nothing tells when it began.

use serde::{Deserialize, Serialize};

use crate::Normal;
use crate::observation::Observation;
use crate::statistics::{Cusum, median};

/// A window farther out than this share of the windows learned from lies outside.
const INSIDE: f64 = 0.95;
/// Share of a shift that may lie outside without adding to the sum: crews and weather differ.
const ALLOWANCE: f64 = 0.25;
/// The sum at which a normal no longer fits: two shifts far outside, or a week of shifts by a third.
const LIMIT: f64 = 1.2;
/// Windows of baking in a shift that count in full (2 h at 30 s); fewer count for less.
const FULL_WINDOWS: f64 = 240.0;
/// A shift with fewer windows of baking (15 min) tells nothing.
const FEWEST_WINDOWS: usize = 30;

/// How the windows of one shift lie to a normal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShiftFit {
    /// First window, UTC microseconds since 1970.
    pub from_us: i64,
    /// Windows that have every quantity of the normal.
    pub windows: usize,
    /// Share of them that lies outside, 0 to 1; 0.05 while the normal fits.
    pub outside: f64,
    /// The median window against what is expected at its speed, one per zone.
    pub zones: Vec<ZoneShift>,
}

/// How far a zone lies from what is expected.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ZoneShift {
    /// ln humidity ratio.
    pub ln_humidity: Shift,
    /// Air temperature, °C; none if the normal has none of this zone.
    pub temperature: Option<Shift>,
}

/// A distance from what is expected.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shift {
    /// In the quantity's own unit.
    pub by: f64,
    /// In standard deviations of a window.
    pub z: f64,
}

/// A normal that no longer fits.
#[derive(Debug, Clone, PartialEq)]
pub struct Slip {
    /// The first window of the shift with which it began, UTC microseconds since 1970.
    pub since_us: i64,
    /// Share of the windows outside since then, 0 to 1.
    pub outside: f64,
    /// Where the zones lie since then: the median shift.
    pub zones: Vec<ZoneShift>,
}

impl Normal {
    /// How the windows of a shift lie to this normal; none with too little baking to tell.
    pub fn shift_fit(&self, observations: &[Observation]) -> Option<ShiftFit> {
        let quantities = self.record.columns.width() - 1;
        let limit = self.record.calibration.of_kept(INSIDE)?;
        let whole: Vec<(&Observation, f64)> = observations
            .iter()
            .map(|observation| (observation, self.departure(observation)))
            .filter(|(_, departure)| departure.degrees == quantities)
            .map(|(observation, departure)| (observation, departure.mixture_score))
            .collect();
        if whole.len() < FEWEST_WINDOWS {
            return None;
        }
        let outside = whole.iter().filter(|(_, score)| *score > limit).count() as f64 / whole.len() as f64;
        let shifts: Vec<Vec<ZoneShift>> = whole.iter().map(|(observation, _)| self.shifts(observation)).collect();
        Some(ShiftFit { from_us: whole[0].0.time_us, windows: whole.len(), outside, zones: median_shifts(&shifts) })
    }

    fn shifts(&self, observation: &Observation) -> Vec<ZoneShift> {
        let zones = self.expect(observation.speed).zones;
        let shift = |value: f64, band: crate::Band| Shift { by: value - band.mean, z: (value - band.mean) / band.sd };
        let zone = |(index, zone): (usize, &crate::ZoneExpectation)| ZoneShift {
            ln_humidity: shift(observation.ln_humidity[index], zone.ln_humidity),
            temperature: zone.temperature.map(|band| shift(observation.temperature[index], band)),
        };
        zones.iter().enumerate().map(zone).collect()
    }
}

/// Whether a normal has slipped away by the end of these shifts, in order of time.
pub fn slipping(fits: &[ShiftFit]) -> Option<Slip> {
    let Rise { sum, first } = last_rise(fits, ALLOWANCE);
    if sum < LIMIT {
        return None;
    }
    // A middling shift just before would seem the beginning. It began where the shares come to lie
    // nearer to what they are now than to what is allowed.
    let nearer_to_now = ALLOWANCE.midpoint(outside(&fits[first..]));
    let since = &fits[first + last_rise(&fits[first..], nearer_to_now).first..];
    let zones: Vec<Vec<ZoneShift>> = since.iter().map(|fit| fit.zones.clone()).collect();
    Some(Slip { since_us: since.first()?.from_us, outside: outside(since), zones: median_shifts(&zones) })
}

/// How high the cumulative sum stands, and the shift with which it last rose from nothing.
struct Rise {
    sum: f64,
    first: usize,
}

fn last_rise(fits: &[ShiftFit], allowance: f64) -> Rise {
    // A shift with little baking has as little allowance, so it is taken off shift by shift.
    let (mut cusum, mut first) = (Cusum::new(0.0), 0);
    for (at, fit) in fits.iter().enumerate() {
        if cusum.sum() == 0.0 {
            first = at;
        }
        let weight = (fit.windows as f64 / FULL_WINDOWS).min(1.0);
        cusum.observe(weight * (fit.outside - allowance));
        // So that what fits again is soon told to fit again.
        cusum.hold_below(2.0 * LIMIT);
    }
    Rise { sum: cusum.sum(), first }
}

/// Share of all windows that lies outside.
fn outside(fits: &[ShiftFit]) -> f64 {
    let windows: f64 = fits.iter().map(|fit| fit.windows as f64).sum();
    fits.iter().map(|fit| fit.outside * fit.windows as f64).sum::<f64>() / windows
}

/// The median of each zone's shifts.
fn median_shifts(rows: &[Vec<ZoneShift>]) -> Vec<ZoneShift> {
    let median_of = |shift: &dyn Fn(&[ZoneShift]) -> Option<Shift>| {
        let shifts: Vec<Shift> = rows.iter().filter_map(|row| shift(row)).collect();
        let each = |part: fn(&Shift) -> f64| median(&shifts.iter().map(part).collect::<Vec<f64>>());
        (!shifts.is_empty()).then(|| Shift { by: each(|shift| shift.by), z: each(|shift| shift.z) })
    };
    let zones = rows.iter().map(Vec::len).min().unwrap_or(0);
    let zone = |zone: usize| {
        Some(ZoneShift {
            ln_humidity: median_of(&|row| Some(row[zone].ln_humidity))?,
            temperature: median_of(&|row| row[zone].temperature),
        })
    };
    (0..zones).filter_map(zone).collect()
}

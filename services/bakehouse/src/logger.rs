//! A logger that travels through an oven on the band, invented like the rest: it feels the air of the zone in which it
//! lies, with a lag, and in the first metre the plumes of the steam injectors.

use chrono::{DateTime, TimeDelta, Utc};
use physics::air;
use physics::units::{MoistureFraction, Pascal};

use crate::simulation::Simulation;

/// Where the steam injectors are, m from the mouth.
pub const INJECTORS_M: [f64; 3] = [0.3, 0.6, 0.9];
/// What the plume of a working injector adds just behind it, share by volume ...
const PLUME: f64 = 0.04;
/// ... and over which length it fades, m.
const FADES_M: f64 = 0.5;
/// How fast the logger's probes follow, s.
const FOLLOWS_S: f64 = 4.0;
/// Time between two samples.
const EVERY: TimeDelta = TimeDelta::seconds(2);
/// The air of the hall, where the logger waits and comes out.
const HALL_C: f64 = 25.0;
const HALL_MOISTURE: f64 = 0.015;
/// How long it waits before it enters, and lies after it has come out.
const OUTSIDE: TimeDelta = TimeDelta::seconds(60);

/// What the logger wrote down at a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoggerSample {
    /// When.
    pub time: DateTime<Utc>,
    /// Air temperature, °C.
    pub temperature_c: f64,
    /// Dew point, °C.
    pub dew_point_c: f64,
}

/// Sends a logger through the oven of a line, entering at this time, later than the simulation has come. `dead` is an
/// injector, counted from 1, that gives nothing. Runs the simulation on until the logger is out.
///
/// `None` if there is no such line, or if the logger has not come out within four hours.
pub fn travel(
    plant: &mut Simulation,
    line: usize,
    enters: DateTime<Utc>,
    dead: Option<usize>,
    pressure: Pascal,
) -> Option<Vec<LoggerSample>> {
    let length_m = plant.length_m(line)?;
    let (mut metre, mut now) = (None, enters - OUTSIDE);
    let (mut temperature_c, mut moisture) = (HALL_C, HALL_MOISTURE);
    let mut left: Option<DateTime<Utc>> = None;
    let mut samples = Vec::new();
    while left.is_none_or(|left| now < left + OUTSIDE) {
        plant.until(now).for_each(drop);
        let step_s = EVERY.num_milliseconds() as f64 / 1000.0;
        if now >= enters && left.is_none() {
            let travelled = metre.map_or(0.0, |metre: f64| metre + plant.band_m_s(line).unwrap_or(0.0) * step_s);
            metre = Some(travelled);
            left = (travelled >= length_m).then_some(now);
        }
        let inside = metre.filter(|_| left.is_none());
        let (air_c, air_moisture) = match inside {
            Some(metre) => {
                let (air_c, air_moisture) = plant.air_at(line, metre)?;
                (air_c, air_moisture + plumes(metre, dead))
            }
            None => (HALL_C, HALL_MOISTURE),
        };
        let share = 1.0 - (-step_s / FOLLOWS_S).exp();
        temperature_c += (air_c - temperature_c) * share;
        moisture += (air_moisture - moisture) * share;
        let dew_point_c = air::dew_point_from_moisture(MoistureFraction(moisture), pressure).ok()?.0;
        samples.push(LoggerSample { time: now, temperature_c, dew_point_c });
        now += EVERY;
        if now > enters + TimeDelta::hours(4) {
            return None;
        }
    }
    Some(samples)
}

/// What the injectors before this place add to the air, share by volume.
fn plumes(metre: f64, dead: Option<usize>) -> f64 {
    let working = INJECTORS_M.iter().enumerate().filter(|(place, _)| dead != Some(place + 1));
    let before = working.filter(|(_, at)| metre >= **at);
    before.map(|(_, at)| PLUME * (-(metre - at) / FADES_M).exp()).sum()
}

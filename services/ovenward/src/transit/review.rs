//! What a run says, held against the fixed sensors at that time and against the normal.

use std::sync::Arc;

use alert::Normals;
use anyhow::Result;
use balance::transit::{Journey, Sample, Transit, analyse, injectors, lay, surface};
use physics::air;
use physics::units::{HumidityRatio, Metre, MetrePerMinute, MoistureFraction};
use reading::{LineIndex, Plant, RunningState, Span, Timestamp, Window};
use serde::{Deserialize, Serialize};
use store::Store;

use super::naming::Naming;
use crate::config::Settings;
use crate::stored;

/// Half-width of the band that holds 95 of 100, in standard deviations.
const BAND: f64 = normal_profile::BAND;
/// The longest file: a logger may have been left on over a night, not over a week.
const LONGEST: Span = Span::minutes(2 * 24 * 60);
/// Points of the picture: more would not be seen.
const POINTS: usize = 300;

/// What a review is made of.
pub(crate) struct ReviewInput<'a> {
    pub(crate) store: &'a Store,
    pub(crate) normals: &'a Normals,
    pub(crate) plant: &'a Arc<Plant>,
    pub(crate) settings: &'a Settings,
    pub(crate) line: LineIndex,
    pub(crate) samples: &'a [Sample],
    /// When the logger entered the oven, where somebody knows.
    pub(crate) entered: Option<Timestamp>,
    /// Band speed, where it is not to be taken from the store.
    pub(crate) speed: Option<MetrePerMinute>,
    /// The product on the band, where it is not to be taken from the store.
    pub(crate) product: Option<&'a str>,
    /// Places of the steam injectors, m from the mouth.
    pub(crate) injectors: &'a [f64],
    /// How what is missing is named.
    pub(crate) naming: Naming,
}

/// A run, as it is kept and shown. Moisture in % vol, temperature in °C.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct RunReview {
    pub(crate) id: String,
    pub(crate) line: String,
    pub(crate) product: Option<String>,
    pub(crate) entered: Timestamp,
    pub(crate) band_speed_m_min: f64,
    /// Whether the band speed was taken from the store.
    pub(crate) speed_is_stored: bool,
    pub(crate) is_whole: bool,
    pub(crate) peak: Option<Peak>,
    pub(crate) drop_1_to_2_pct: Option<f64>,
    pub(crate) zone3_to_peak_pct: Option<f64>,
    pub(crate) steam_exposure_s: Option<f64>,
    pub(crate) surface: Option<SurfaceSeen>,
    pub(crate) injectors: Vec<InjectorSeen>,
    pub(crate) normal: Option<String>,
    pub(crate) zones: Vec<ZoneSeen>,
    pub(crate) profile: Vec<Point>,
    /// What could not be told, and why.
    pub(crate) missing: Vec<String>,
}

/// The wettest place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct Peak {
    pub(crate) metre: f64,
    pub(crate) seconds: f64,
    pub(crate) zone: usize,
    pub(crate) moisture_pct: f64,
}

/// What the surface of dough met, computed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct SurfaceSeen {
    pub(crate) wetted_s: f64,
    pub(crate) condensate_g_m2: f64,
    pub(crate) gelatinised_while_wet: bool,
}

/// A steam injector; `works` is none if nobody can tell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct InjectorSeen {
    pub(crate) metre: f64,
    pub(crate) rise_pct: Option<f64>,
    pub(crate) works: Option<bool>,
}

/// One zone: the logger, the fixed sensors while it was there, and the normal at this speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct ZoneSeen {
    pub(crate) begins_m: f64,
    pub(crate) ends_m: f64,
    pub(crate) moisture_pct: Option<f64>,
    pub(crate) temperature_c: Option<f64>,
    pub(crate) sensor_moisture_pct: Option<f64>,
    pub(crate) sensor_temperature_c: Option<f64>,
    pub(crate) normal_low_pct: Option<f64>,
    pub(crate) normal_pct: Option<f64>,
    pub(crate) normal_high_pct: Option<f64>,
}

impl ZoneSeen {
    /// Fixed sensor less logger, % vol.
    pub(crate) fn moisture_offset(&self) -> Option<f64> {
        Some(self.sensor_moisture_pct? - self.moisture_pct?)
    }

    /// Fixed sensor less logger, K.
    pub(crate) fn temperature_offset(&self) -> Option<f64> {
        Some(self.sensor_temperature_c? - self.temperature_c?)
    }

    /// Whether the logger lies within the band of the normal.
    pub(crate) fn is_normal(&self) -> Option<bool> {
        Some((self.normal_low_pct?..=self.normal_high_pct?).contains(&self.moisture_pct?))
    }
}

/// A point of the profile, by place and by time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct Point {
    pub(crate) metre: f64,
    pub(crate) seconds: f64,
    pub(crate) temperature_c: f64,
    pub(crate) moisture_pct: Option<f64>,
}

/// Reviews a run.
///
/// # Errors
/// The store cannot be read, or the samples are no journey through this oven.
pub(crate) fn review(input: &ReviewInput<'_>) -> Result<RunReview> {
    let line = &input.plant.lines[input.line.0];
    let windows = windows_around(input)?;
    let stored_speed = windows.iter().any(|window| window.band_speed.is_some());
    if input.speed.is_none() && !stored_speed {
        anyhow::bail!(
            "nothing stored tells the band speed of {} while the logger ran; write {}, in m/min",
            line.id,
            input.naming.of("--speed")
        );
    }
    let speed = |time: Timestamp| {
        let after = windows.partition_point(|window| window.starts <= time);
        let stored = windows[..after].iter().rev().find_map(|window| window.band_speed);
        input
            .speed
            .or(stored)
            .or_else(|| windows.iter().find_map(|window| window.band_speed))
            .unwrap_or(MetrePerMinute(0.0))
    };
    let journey = lay(input.samples, line, input.entered, speed)?;
    let transit = analyse(&journey, line.steam_section);
    let product = input.product.map(Arc::from).or_else(|| product_of(&windows, &journey));
    let mut missing = Vec::new();
    if line.steam_section.is_none() {
        missing.push("no length of the steam section: no time under steam; write steam_section_m in [[line]]".into());
    }
    let surface = surface_of(input, &journey, product.as_deref(), &mut missing);
    let normal = product.as_ref().and_then(|product| input.normals.get(&(input.line, product.clone())));
    if normal.is_none() {
        let of = product.as_deref().unwrap_or("the product");
        missing.push(format!("no approved normal of {of} on {}: not held against it; see `ovenward learn`", line.id));
    }
    let expected = normal.map(|normal| normal.expect(journey.speed).zones);
    let zones = (0..line.zones.len()).map(|zone| {
        let expected = expected.as_ref().and_then(|zones| zones.get(zone)).map(|zone| zone.ln_humidity);
        let pct = |deviations: f64| percent_of_ln(expected.map(|band| band.mean + deviations * band.sd));
        let sensors = sensors(&windows, &journey, zone);
        ZoneSeen {
            begins_m: journey.borders[zone].0,
            ends_m: journey.borders[zone + 1].0,
            moisture_pct: transit.zones[zone].moisture.map(percent),
            temperature_c: transit.zones[zone].temperature.map(|temperature| temperature.0),
            sensor_moisture_pct: sensors.0,
            sensor_temperature_c: sensors.1,
            normal_low_pct: pct(-BAND),
            normal_pct: pct(0.0),
            normal_high_pct: pct(BAND),
        }
    });
    let zones: Vec<ZoneSeen> = zones.collect();
    if zones.iter().all(|zone| zone.sensor_moisture_pct.is_none()) {
        missing.push("nothing is stored of the fixed sensors at that time: no offsets".into());
    }
    Ok(RunReview {
        id: format!("{}-{}", line.id, stamp(journey.entered)),
        line: line.id.to_string(),
        product: product.map(|product| product.to_string()),
        entered: journey.entered,
        band_speed_m_min: journey.speed.0,
        speed_is_stored: input.speed.is_none(),
        is_whole: journey.is_whole(),
        peak: peak(&transit),
        drop_1_to_2_pct: transit.drop_1_to_2.map(|share| 100.0 * share),
        zone3_to_peak_pct: transit.zone3_to_peak.map(|share| 100.0 * share),
        steam_exposure_s: transit.steam_exposure.map(|seconds| seconds.0),
        surface,
        injectors: injectors_of(input, &journey),
        normal: normal.map(|normal| normal.key().to_string()),
        zones,
        profile: profile(&journey),
        missing,
    })
}

/// The windows from a little before the first sample to a little after the last.
fn windows_around(input: &ReviewInput<'_>) -> Result<Vec<Window>> {
    let (Some(first), Some(last)) = (input.samples.first(), input.samples.last()) else { return Ok(Vec::new()) };
    if last.time - first.time > LONGEST {
        anyhow::bail!(
            "the samples reach from {} to {}; leave in the file only the day on which the logger ran",
            first.time,
            last.time
        );
    }
    let slack = Span::minutes(1);
    let (from, to) = (first.time - slack, last.time + slack);
    stored::windows(input.store, input.plant, input.line, from, to, &input.settings.detection)
}

/// What was being baked while the logger was in the oven.
fn product_of(windows: &[Window], journey: &Journey) -> Option<Arc<str>> {
    let last = journey.places.last()?.sample.time;
    let within = windows.iter().filter(|window| window.ends > journey.entered && window.starts <= last);
    within.filter(|window| window.state != RunningState::Stopped).find_map(|window| window.product.clone())
}

/// What the fixed sensors of a zone showed while the logger was in its middle third: moisture and temperature.
fn sensors(windows: &[Window], journey: &Journey, zone: usize) -> (Option<f64>, Option<f64>) {
    let (begins, ends) = (journey.borders[zone].0, journey.borders[zone + 1].0);
    let third = (ends - begins) / 3.0;
    let passed = |metre: f64| journey.passed(Metre(metre));
    let (Some(from), Some(to)) = (passed(begins + third), passed(ends - third)) else { return (None, None) };
    let within: Vec<&Window> = windows.iter().filter(|window| window.ends > from && window.starts < to).collect();
    let mean = |values: Vec<f64>| (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64);
    let zones = || within.iter().filter_map(|window| window.zones.get(zone));
    let moisture = zones().filter_map(|zone| air::moisture_from_humidity_ratio(zone.humidity?).ok()).map(percent);
    let temperature = zones().filter_map(|zone| zone.air_temperature).map(|temperature| temperature.0);
    (mean(moisture.collect()), mean(temperature.collect()))
}

fn surface_of(
    input: &ReviewInput<'_>,
    journey: &Journey,
    product: Option<&str>,
    missing: &mut Vec<String>,
) -> Option<SurfaceSeen> {
    let water = product.and_then(|code| input.plant.product(code)).and_then(|product| product.dough_moisture_pct);
    let Some(water) = water else {
        let of = product.unwrap_or("the product");
        missing.push(format!("no water content of {of}: no wetted time; write dough_moisture_pct in its [[product]]"));
        return None;
    };
    match surface(journey, water / 100.0, input.plant.pressure) {
        Ok(seen) => Some(SurfaceSeen {
            wetted_s: seen.wetted.0,
            condensate_g_m2: 1000.0 * seen.condensate.0,
            gelatinised_while_wet: seen.gelatinised_while_wet,
        }),
        Err(why) => {
            missing.push(format!("no wetted time: {why}"));
            None
        }
    }
}

fn injectors_of(input: &ReviewInput<'_>, journey: &Journey) -> Vec<InjectorSeen> {
    let places: Vec<Metre> = input.injectors.iter().map(|metre| Metre(*metre)).collect();
    let seen = injectors(journey, &places).into_iter();
    seen.map(|injector| InjectorSeen {
        metre: injector.metre.0,
        rise_pct: injector.rise.map(|rise| 100.0 * rise),
        works: injector.works,
    })
    .collect()
}

fn peak(transit: &Transit) -> Option<Peak> {
    let place = transit.peak?;
    Some(Peak {
        metre: place.metre.0,
        seconds: place.seconds,
        zone: place.zone + 1,
        moisture_pct: percent(place.sample.moisture?),
    })
}

fn profile(journey: &Journey) -> Vec<Point> {
    let every = journey.places.len().div_ceil(POINTS).max(1);
    let point = |place: &balance::transit::Place| Point {
        metre: place.metre.0,
        seconds: place.seconds,
        temperature_c: place.sample.temperature.0,
        moisture_pct: place.sample.moisture.map(percent),
    };
    journey.places.iter().step_by(every).map(point).collect()
}

fn percent(moisture: MoistureFraction) -> f64 {
    100.0 * moisture.0
}

fn percent_of_ln(ln_humidity: Option<f64>) -> Option<f64> {
    air::moisture_from_humidity_ratio(HumidityRatio(ln_humidity?.exp())).ok().map(percent)
}

/// A moment as it stands in a file's name.
fn stamp(time: Timestamp) -> String {
    time.to_utc().map_or_else(|| time.0.to_string(), |utc| utc.format("%Y%m%dT%H%M%SZ").to_string())
}

//! The table against a model that takes no short cut, on random readings.

#![allow(clippy::unwrap_used)]

use std::collections::HashSet;

use physics::air;
use physics::units::Celsius;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use reading::{LineSeries, Quality, Reading, ShiftInstance, SignalId, Span, Timestamp, Value};

use super::bakery::{PRESSURE, TUNNEL_1, bakery, shift};
use crate::row::ShiftProfileRow;
use crate::stretch::Stretch;
use crate::{ShiftProfileError, shift_profile};

const OVEN_LENGTH_M: f64 = 30.0;

/// What a reading says, worked out one by one from the definitions of the units.
#[derive(Default, Clone, Copy)]
struct Meaning {
    zone: u32,
    moisture: Option<f64>,
    dew_point: Option<f64>,
    ratio: Option<f64>,
    air_temperature: Option<f64>,
    damper: Option<f64>,
    speed: Option<f64>,
}

fn meaning(signal: u32, raw: f64) -> Meaning {
    let nothing = Meaning::default();
    let moist = |zone, x: f64, dew_point: Option<f64>| {
        let ratio = 0.621_945 * x / (1.0 - x);
        let possible = (0.0..1.0).contains(&x);
        let by_air = air::dew_point_from_moisture(physics::units::MoistureFraction(x), PRESSURE).ok();
        let dew_point = dew_point.or_else(|| by_air.map(|celsius| celsius.0));
        if possible {
            Meaning { zone, moisture: Some(100.0 * x), dew_point, ratio: Some(ratio), ..nothing }
        } else {
            nothing
        }
    };
    match signal {
        0 => {
            let celsius = (raw - 32.0) / 1.8;
            let x = air::moisture_from_dew_point(Celsius(celsius), PRESSURE).map_or(2.0, |fraction| fraction.0);
            moist(1, x, Some(celsius))
        }
        1 => moist(2, raw / 100.0, None),
        2 => moist(3, raw / (621.945 + raw), None),
        3 => Meaning {
            zone: 1,
            air_temperature: Some(raw / 10.0).filter(|celsius| (20.0..=280.0).contains(celsius)),
            ..nothing
        },
        4 => Meaning {
            zone: 4,
            air_temperature: Some((raw - 32.0) / 1.8).filter(|celsius| *celsius > -273.15),
            ..nothing
        },
        5 => Meaning { zone: 1, damper: Some(raw), ..nothing },
        6 => Meaning { zone: 5, damper: Some(raw), ..nothing },
        7 => Meaning { speed: Some(raw * 0.3048), ..nothing },
        _ => nothing,
    }
}

struct Naive<'a> {
    shift: &'a ShiftInstance,
    stretches: &'a [Stretch],
    readings: &'a [Reading],
}

impl Naive<'_> {
    fn is_running(&self, product: &str, time: Timestamp) -> bool {
        let covers = |stretch: &Stretch| *stretch.product == *product && stretch.starts <= time && time < stretch.ends;
        self.shift.starts <= time && time < self.shift.ends && self.stretches.iter().any(covers)
    }

    /// The values of one kind, with their times.
    fn values(&self, product: &str, zone: u32, of: impl Fn(Meaning) -> Option<f64>) -> Vec<(Timestamp, f64)> {
        let usable = self.readings.iter().filter(|reading| reading.quality != Quality::Bad);
        usable
            .filter(|reading| self.is_running(product, reading.time))
            .map(|reading| (reading.time, meaning(reading.signal.0, reading.value.number().unwrap())))
            .filter(|(_, meaning)| meaning.zone == zone)
            .filter_map(|(time, meaning)| Some((time, of(meaning)?)))
            .collect()
    }

    fn minutes(&self, product: &str) -> f64 {
        let tenth_of_a_minute = |index: i64| self.shift.starts + Span::seconds(6 * index);
        (0..80 * 60).filter(|index| self.is_running(product, tenth_of_a_minute(*index))).count() as f64 / 10.0
    }

    fn coverage(&self, product: &str, values: &[(Timestamp, f64)]) -> f64 {
        let window = |time: Timestamp| time.floor(Span::seconds(30));
        let second = |index: i64| self.shift.starts + Span::seconds(index);
        let running: HashSet<_> =
            (0..8 * 3600).map(second).filter(|time| self.is_running(product, *time)).map(window).collect();
        let covered: HashSet<_> = values.iter().map(|(time, _)| window(*time)).collect();
        100.0 * covered.len() as f64 / running.len() as f64
    }
}

fn mean(values: &[(Timestamp, f64)]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().map(|(_, value)| value).sum::<f64>() / values.len() as f64)
}

fn quantile(values: &[(Timestamp, f64)], share: f64) -> Option<f64> {
    let mut sorted: Vec<f64> = values.iter().map(|(_, value)| *value).collect();
    sorted.sort_by(f64::total_cmp);
    let rank = share * (sorted.len().checked_sub(1)? as f64);
    let (below, above) = (sorted[rank.floor() as usize], sorted[rank.ceil() as usize]);
    Some(below + (above - below) * rank.fract())
}

fn assert_near(what: &str, found: Option<f64>, expected: Option<f64>) {
    match (found, expected) {
        (Some(found), Some(expected)) => {
            let near = (found - expected).abs() <= 1e-9 * expected.abs().max(1.0);
            assert!(near, "{what}: {found} instead of {expected}");
        }
        _ => assert_eq!(found, expected, "{what}"),
    }
}

/// Stretches of two products, from before the shift to after it; not all on whole windows.
fn random_stretches(random: &mut StdRng, shift: &ShiftInstance) -> Vec<Stretch> {
    let mut stretches = Vec::new();
    let mut time = shift.starts - Span::minutes(random.gen_range(0..60));
    while time < shift.ends + Span::minutes(30) {
        let ends = time + Span::seconds(6 * random.gen_range(50..1200));
        let product = if random.r#gen() { "T800" } else { "R060" };
        stretches.push(Stretch { product: product.into(), starts: time, ends });
        time = ends + Span::seconds(6 * random.gen_range(0..100));
    }
    stretches
}

fn random_readings(random: &mut StdRng, shift: &ShiftInstance) -> Vec<Reading> {
    let mut times: Vec<i64> =
        (0..4000).map(|_| random.gen_range(shift.starts.0 - 3_600_000_000..shift.ends.0 + 3_600_000_000)).collect();
    times.sort_unstable();
    times.dedup();
    let mut readings = Vec::new();
    for time in times {
        let signal = random.gen_range(0..12);
        // The ends of these ranges are impossible, except for dampers and speeds.
        let range = match signal {
            0 | 11 => 100.0..220.0,
            1 => 0.0..104.0,
            2 => -20.0..900.0,
            3 => 100.0..2900.0,
            4 => -600.0..500.0,
            5 | 6 => 0.0..100.0,
            _ => 3.0..6.0,
        };
        let quality = [Quality::Good, Quality::Good, Quality::Uncertain, Quality::Bad][random.gen_range(0..4)];
        let value = Value::Number(random.gen_range(range));
        readings.push(Reading { signal: SignalId(signal), time: Timestamp(time), value, quality });
    }
    readings
}

fn assert_row(naive: &Naive, row: &ShiftProfileRow) {
    let of_zone = |of: fn(Meaning) -> Option<f64>| naive.values(&row.product, row.zone, of);
    let moisture = of_zone(|meaning| meaning.moisture);
    assert_near("moisture mean", row.moisture_pct_mean, mean(&moisture));
    assert_near("moisture p05", row.moisture_pct_p05, quantile(&moisture, 0.05));
    assert_near("moisture p50", row.moisture_pct_p50, quantile(&moisture, 0.50));
    assert_near("moisture p95", row.moisture_pct_p95, quantile(&moisture, 0.95));
    assert_near("dew point", row.dew_point_c_mean, mean(&of_zone(|meaning| meaning.dew_point)));
    assert_near("ratio", row.humidity_ratio_mean, mean(&of_zone(|meaning| meaning.ratio)));

    let temperature = of_zone(|meaning| meaning.air_temperature);
    assert_near("temperature mean", row.air_temperature_c_mean, mean(&temperature));
    assert_near("temperature p05", row.air_temperature_c_p05, quantile(&temperature, 0.05));
    assert_near("temperature p95", row.air_temperature_c_p95, quantile(&temperature, 0.95));
    let damper = of_zone(|meaning| meaning.damper);
    assert_near("damper", row.exhaust_damper_pct_mean, mean(&damper));

    let speed = naive.values(&row.product, 0, |meaning| meaning.speed);
    let fastest = speed.iter().map(|(_, speed)| *speed).reduce(f64::max);
    let bake_time: Vec<_> = speed.iter().map(|(time, speed)| (*time, OVEN_LENGTH_M / speed)).collect();
    assert_near("speed mean", row.band_speed_m_min_mean, mean(&speed));
    assert_near("speed max", row.band_speed_m_min_max, fastest);
    assert_near("bake time", row.bake_time_min_mean, mean(&bake_time));

    assert_eq!(row.readings as usize, moisture.len() + temperature.len() + damper.len(), "zone {}", row.zone);
    assert_near("running", Some(row.running_min), Some(naive.minutes(&row.product)));
    let covering = if row.zone <= 3 { &moisture } else { &temperature };
    assert_near("coverage", Some(row.coverage_pct), Some(naive.coverage(&row.product, covering)));
}

#[test]
fn rows_are_what_the_naive_model_says() -> Result<(), ShiftProfileError> {
    let plant = bakery();
    let shift = shift("2026-11-03T09:00:00Z");
    for seed in 0..6 {
        let mut random = StdRng::seed_from_u64(seed);
        let stretches = random_stretches(&mut random, &shift);
        let readings = random_readings(&mut random, &shift);
        let naive = Naive { shift: &shift, stretches: &stretches, readings: &readings };
        let series: LineSeries = readings.iter().cloned().collect();
        let rows = shift_profile(&plant, TUNNEL_1, &shift, &series.numbers, &stretches)?;
        assert_eq!(rows.len(), 10, "two products, five zones");
        for row in &rows {
            assert_row(&naive, row);
        }
    }
    Ok(())
}

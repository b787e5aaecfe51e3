//! Learning from an invented oven whose practice is known.

use crate::oven::{Oven, REFERENCE_SPEED, key};
use normal_profile::{LearnSettings, LeftOutReason, Normal, NotEnough, Observation, learn};
use physics::units::MetrePerMinute;

/// One way of running is enough for most of what is tested, and quick.
fn one_component() -> LearnSettings {
    LearnSettings { max_components: 1, ..LearnSettings::default() }
}

fn learned(windows: &[Observation], settings: &LearnSettings) -> Normal {
    learn(key(), windows, &[], settings).unwrap()
}

fn left_out(normal: &Normal, reason: LeftOutReason) -> usize {
    let found = normal.record().data.left_out.iter().find(|left_out| left_out.reason == reason);
    found.map_or(0, |left_out| left_out.windows)
}

#[test]
fn the_law_of_the_oven_is_found_at_every_learned_speed() {
    let oven = Oven::with_zones(3);
    let normal = learned(&oven.windows(2400, 1), &one_component());
    let true_sd = (oven.wander.powi(2) + oven.noise.powi(2)).sqrt();
    for speed in [1.12, 1.25, 1.39] {
        let expected = normal.expect(MetrePerMinute(speed));
        assert_eq!(expected.extrapolating, None);
        for (zone, found) in expected.zones.iter().enumerate() {
            let ln_speed = (speed / REFERENCE_SPEED).ln();
            let truth = oven.ln_humidity[zone] + oven.slope[zone] * ln_speed;
            assert!((found.ln_humidity.mean - truth).abs() < 0.01, "zone {} at {speed}: {found:?}", zone + 1);
            assert!((found.ln_humidity.sd / true_sd - 1.0).abs() < 0.15, "zone {} at {speed}: {found:?}", zone + 1);
            let temperature = found.temperature.unwrap();
            let truth = 220.0 + 8.0 * zone as f64 + 15.0 * ln_speed;
            assert!((temperature.mean - truth).abs() < 0.3, "zone {} at {speed}: {found:?}", zone + 1);
            assert!((temperature.sd - 1.0).abs() < 0.1, "zone {} at {speed}: {found:?}", zone + 1);
        }
    }
}

#[test]
fn two_crews_become_two_ways_of_running() {
    let mut oven = Oven::with_zones(3);
    oven.second_crew = vec![0.0, 0.2, -0.15];
    oven.speeds = vec![1.25, 1.3];
    let settings = LearnSettings { max_components: 3, restarts: 2, ..LearnSettings::default() };
    let normal = learned(&oven.windows(1920, 2), &settings);
    let record = normal.record();
    assert_eq!(record.mixture.components.len(), 2, "{:?}", record.trials);
    let weights: Vec<f64> = record.mixture.components.iter().map(|component| component.weight).collect();
    assert!(weights.iter().all(|weight| (weight - 0.5).abs() < 0.05), "{weights:?}");
    for zone in 0..3 {
        let mut means: Vec<f64> = record
            .mixture
            .components
            .iter()
            .map(|component| record.scaling.centre[zone] + record.scaling.spread[zone] * component.mean[zone])
            .collect();
        means.sort_by(f64::total_cmp);
        let difference = means[1] - means[0];
        assert!((difference - oven.second_crew[zone].abs()).abs() < 0.02, "zone {}: {means:?}", zone + 1);
    }
    let ways = normal.ways_of_running();
    let second = ways.iter().find(|way| way.zones[1].ln_humidity.z() > 0.0).unwrap();
    assert!((second.share - 0.5).abs() < 0.05, "{second:?}");
    for (zone, difference) in second.zones.iter().enumerate() {
        let difference = difference.ln_humidity;
        let found = difference.own - difference.average;
        assert!((found - oven.second_crew[zone] / 2.0).abs() < 0.02, "zone {}: {difference:?}", zone + 1);
        assert_eq!(difference.is_clear(), zone > 0, "zone {}: {difference:?}", zone + 1);
    }
}

/// What only one run shows may be an accident: it is not yet a way of running.
#[test]
fn a_single_run_is_no_way_of_running() {
    let mut oven = Oven::with_zones(3);
    oven.second_crew = vec![0.0, 0.3, 0.2];
    let windows: Vec<Observation> = oven.windows(960, 2).into_iter().filter(|window| window.run != 3).collect();
    let settings = LearnSettings { max_components: 2, restarts: 1, ..LearnSettings::default() };
    let normal = learned(&windows, &settings);
    assert_eq!(normal.record().mixture.components.len(), 1);
    assert_eq!(normal.record().trials[1].refused.as_deref(), Some("a component would come from a single run"));
}

/// Bad hours: zones 2 and 3 wet, as after a rise that nobody met. They neither move the band nor become
/// a way of running.
#[test]
fn five_percent_of_bad_hours_do_not_move_the_band() {
    let oven = Oven::with_zones(3);
    let clean = oven.windows(1000, 3);
    let settings = LearnSettings { max_components: 2, restarts: 1, ..LearnSettings::default() };
    let reference = learned(&clean, &settings);
    let mut contaminated = clean;
    let bad = contaminated.len() / 20;
    for window in &mut contaminated[720..720 + bad] {
        window.ln_humidity[1] += 0.2;
        window.ln_humidity[2] += 0.35;
    }
    let normal = learned(&contaminated, &settings);
    assert_eq!(normal.record().mixture.components.len(), reference.record().mixture.components.len());
    let (found, wanted) = (normal.expect(MetrePerMinute(1.25)), reference.expect(MetrePerMinute(1.25)));
    for (found, wanted) in found.zones.iter().zip(&wanted.zones) {
        let (found, wanted) = (found.ln_humidity, wanted.ln_humidity);
        assert!((found.mean - wanted.mean).abs() < 0.2 * wanted.sd, "{found:?}, without bad hours {wanted:?}");
        assert!((found.sd / wanted.sd - 1.0).abs() < 0.15, "{found:?}, without bad hours {wanted:?}");
    }
    let (first_bad, good) = (&contaminated[720], &contaminated[600]);
    assert!(normal.departure(first_bad).tail_probability < 1e-9);
    assert!(normal.departure(good).tail_probability > 1e-3);
}

#[test]
fn too_little_baking_says_what_is_missing() {
    let oven = Oven::with_zones(3);
    let why = |windows: &[Observation]| learn(key(), windows, &[], &one_component()).unwrap_err().to_string();
    assert_eq!(why(&oven.windows(504, 1)), "4.2 h of baking in 3 runs; at least 6 h in 3 runs are needed");
    let mut one_run = oven.windows(800, 1);
    one_run.iter_mut().for_each(|window| window.run = 7);
    assert_eq!(why(&one_run), "6.7 h of baking in 1 runs; at least 6 h in 3 runs are needed");
    let mut silent = oven.windows(1000, 1);
    silent.iter_mut().skip(100).for_each(|window| window.ln_humidity[2] = f64::NAN);
    assert_eq!(
        why(&silent),
        "zone 3 has a humidity in 10 % of the windows of baking; at least 50 % are needed: \
         check its sensor, or leave the zone out of the line"
    );
    let refused = learn(key(), &oven.windows(1000, 1), &[], &LearnSettings { trim_share: 0.9, ..one_component() });
    assert_eq!(refused.unwrap_err().to_string(), "trim_share is 0.9; it must lie in 0 to 0.25");
}

#[test]
fn what_cannot_be_used_is_left_out_and_counted() {
    let mut windows = Oven::with_zones(3).windows(1440, 4);
    windows[10].speed = MetrePerMinute(0.0);
    windows[11].speed = MetrePerMinute(f64::NAN);
    windows[20].ln_humidity[0] = f64::NEG_INFINITY;
    windows[30].temperature[1] = f64::NAN;
    windows[40].ln_humidity.push(-1.0);
    windows[50].ln_humidity[1] = 9.0;
    windows[51].temperature[2] = -1e300;
    let twice = windows[60].clone();
    windows.push(twice);
    let normal = learned(&windows, &one_component());
    let counts = [
        (LeftOutReason::NoSpeed, 2),
        (LeftOutReason::NoHumidity, 1),
        (LeftOutReason::NoTemperature, 1),
        (LeftOutReason::OtherZones, 1),
        (LeftOutReason::FarOutside, 2),
        (LeftOutReason::SameTime, 1),
    ];
    for (reason, count) in counts {
        assert_eq!(left_out(&normal, reason), count, "{reason:?} in {:?}", normal.record().data.left_out);
    }
    let data = &normal.record().data;
    let all: usize = data.left_out.iter().map(|left_out| left_out.windows).sum();
    assert_eq!(data.windows_used + all, data.windows_given);
    assert!((left_out(&normal, LeftOutReason::Unlikely) as f64 / 1433.0 - 0.05).abs() < 0.001);
}

/// Sensors that never move, that agree to the last digit, or that are not there at all.
#[test]
fn odd_sensors_do_not_break_the_fit() {
    let mut windows = Oven::with_zones(3).windows(730, 5);
    for window in &mut windows {
        window.temperature[0] = 215.0;
        window.ln_humidity[2] = window.ln_humidity[1];
        window.temperature[2] = f64::NAN;
    }
    let normal = learned(&windows, &LearnSettings { max_components: 2, restarts: 1, ..LearnSettings::default() });
    assert_eq!(normal.record().columns.temperature_zones, [0, 1]);
    let expected = normal.expect(MetrePerMinute(1.25));
    assert_eq!(expected.zones[2].temperature, None);
    assert!((expected.zones[0].temperature.unwrap().mean - 215.0).abs() < 0.1);
    let departure = normal.departure(&windows[500]);
    assert_eq!(departure.degrees, 5);
    assert!(departure.distance_squared.is_finite());
}

#[test]
fn a_constant_line_is_learned_too() {
    let mut windows = Oven::with_zones(3).windows(900, 6);
    for window in &mut windows {
        *window = Observation {
            speed: MetrePerMinute(1.2),
            ln_humidity: vec![-1.0, -1.5, -2.0],
            temperature: vec![210.0; 3],
            ..window.clone()
        };
    }
    let normal = learned(&windows, &LearnSettings { max_components: 3, ..LearnSettings::default() });
    let found = normal.expect(MetrePerMinute(1.2)).zones[1].ln_humidity;
    assert!((found.mean + 1.5).abs() < 1e-9 && found.sd > 0.0 && found.sd < 0.001, "{found:?}");
}

#[test]
fn windows_without_zones_are_refused() {
    let mut windows = Oven::with_zones(3).windows(900, 6);
    windows.iter_mut().for_each(|window| window.ln_humidity.clear());
    let refused = learn(key(), &windows, &[], &one_component()).unwrap_err();
    assert!(matches!(refused, NotEnough::NoZones), "{refused}");
}

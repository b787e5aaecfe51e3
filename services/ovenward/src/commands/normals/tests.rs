//! What is told of a normal that was learned from an invented oven.
#![allow(clippy::unwrap_used)]

use chrono_tz::Tz;
use normal_profile::{LearnSettings, NormalKey, Observation, RiseChange, learn};

use super::*;

/// A normal of an invented oven of two zones, run in two ways that differ in zone 2 by `apart` (ln humidity
/// and tens of degrees). Figures wander by small fixed cycles.
fn learned(version: u32, apart: f64, speed: f64) -> Normal {
    let window = |at: i64| {
        let run = at / 250;
        let second_way = if run % 2 == 1 { apart } else { 0.0 };
        let cycle = |length: i64, size: f64| size * (at % length - length / 2) as f64;
        Observation {
            time_us: 1_790_000_000_000_000 + at * 30_000_000,
            run: run as u32,
            speed: MetrePerMinute(speed + cycle(7, 0.01)),
            ln_humidity: vec![-0.8 + cycle(11, 0.005), -1.8 + second_way + cycle(5, 0.01)],
            temperature: vec![228.0 + cycle(3, 0.5), 240.0 + 10.0 * second_way + cycle(13, 0.2)],
        }
    };
    let windows: Vec<Observation> = (0..1000).map(window).collect();
    let rise = |at: i64| RiseChange {
        began_us: 1_790_000_000_000_000 + at * 3_600_000_000,
        ln_speed_change: if at == 9 { 0.001 } else { 0.1 },
        settled_ln_humidity_change: vec![0.0, 0.01],
        ln_humidity_change: if at == 8 { vec![0.1, 0.4] } else { vec![0.001 * (at % 3) as f64, 0.02] },
    };
    let rises: Vec<RiseChange> = (0..10).map(rise).collect();
    let key = NormalKey { site: "millbrook".into(), line: "tunnel-1".into(), product: "T800".into(), version };
    let max_components = if apart == 0.0 { 1 } else { 2 };
    let settings = LearnSettings { max_components, restarts: 2, ..LearnSettings::default() };
    learn(key, &windows, &rises, &settings).unwrap()
}

fn described(normal: &Normal, speed: Option<MetrePerMinute>) -> String {
    let mut out = Vec::new();
    describe(normal, speed, &ShiftCalendar::new(Tz::Europe__London, Vec::new()), &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

fn is_narrow(text: &str) -> bool {
    text.lines().all(|line| line.chars().count() <= 100)
}

#[test]
fn a_normal_says_what_it_was_learned_from_and_what_it_expects() {
    let text = described(&learned(1, 0.4, 1.2), None);
    assert!(is_narrow(&text), "{text}");
    for told in [
        "tunnel-1/T800/1 (proposed)\n",
        "learned from 7.9 h of baking in 4 runs, 2026-09-21 15:13 to 2026-09-21 23:32\n",
        "windows of baking: 950 of 1000 used\n    left out: 50, least likely: taken for bad hours\n",
        "rises: 10 in history; learned from 8 of 11 to 11 %\n",
        "left out: 1, too small to tell from noise\n",
        "left out: 1, unlike the others, and so no practice\n      2026-09-21 23:13  band +10.5 %, zones +11 +49 %\n",
        "  ways of running: 2, against their average:\n    A  50 % of the windows, about 1.20 m/min\n",
        "    B  50 % of the windows, about 1.20 m/min\n         zone 2 3.9 % vol wetter, 2 degC hotter\n",
        "\n  zone 2  ·         ·       ├─────●───────┤       ·         ·      24.5      18.0 to 32.5\n",
        "  a rise of 10 %, as it was met in history, in % vol:\n      zone 1 0.0 ± 0.6, zone 2 +0.4 ± 0.5\n",
    ] {
        assert!(text.contains(told), "{told:?} is missing in\n{text}");
    }
}

#[test]
fn a_speed_that_was_not_learned_is_drawn_with_a_warning() {
    let normal = learned(1, 0.0, 1.2);
    let text = described(&normal, Some(MetrePerMinute(1.5)));
    assert!(text.contains("  1.50 m/min is 22 % outside the learned speeds"), "{text}");
    assert!(is_narrow(&text) && text.contains("Humidity at 1.50 m/min"), "{text}");
    assert!(described(&normal, None).contains("ways of running: one\n"));
}

#[test]
fn two_normals_are_held_against_each_other_at_the_speeds_that_both_know() {
    let (before, after) = (learned(1, 0.0, 1.2), learned(2, 0.4, 1.21));
    let difference = NormalDifference::between(&before, &after).unwrap();
    let mut out = Vec::new();
    difference.write_text(&mut out).unwrap();
    let text = String::from_utf8(out).unwrap();
    assert!(is_narrow(&text), "{text}");
    for told in ["At 1.18 m/min", "At 1.23 m/min", "100 %", "* usual now, and outside"] {
        assert!(text.contains(told), "{told:?} is missing in\n{text}");
    }
    let json = serde_json::to_value(&difference).unwrap();
    let zone_2 = &json["at"][1]["zones"][1];
    let change = zone_2["moisture_pct"]["change"].as_f64().unwrap();
    // From e^-1.8 to e^-1.6 kg/kg: 21.0 to 24.5 % vol.
    assert!((change - 3.5).abs() < 0.2, "{zone_2}");
    assert_eq!(zone_2["moisture_pct"]["outside_band_before"], true);
    assert_eq!(json["at"][1]["zones"][0]["moisture_pct"]["outside_band_before"], false);
}

#[test]
fn normals_without_a_common_speed_say_so() {
    let difference = NormalDifference::between(&learned(1, 0.0, 1.2), &learned(2, 0.0, 1.5)).unwrap();
    let mut out = Vec::new();
    difference.write_text(&mut out).unwrap();
    assert!(String::from_utf8(out).unwrap().contains("They share no speed"));
}

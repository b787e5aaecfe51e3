//! Invented runs whose truth is known.
#![allow(clippy::unwrap_used)]

use physics::units::{Celsius, Metre, MetrePerMinute, MoistureFraction, Pascal};
use reading::{Firing, Line, Span, Timestamp, Zone};

use super::*;

/// Three zones of 6, 8 and 10 m.
fn line() -> Line {
    Line {
        id: "tunnel-1".into(),
        name: "Tunnel oven 1".into(),
        firing: Firing::Direct,
        fuel: None,
        steam_section: Some(Metre(1.2)),
        zones: [6.0, 8.0, 10.0].map(|length| Zone { length: Metre(length) }).to_vec(),
    }
}

const TRUTH: [(f64, f64); 3] = [(220.0, 0.40), (240.0, 0.20), (210.0, 0.08)];

/// A sample every 2 s at 1.2 m/min; the oven is entered after 60 s in a hall of 25 °C. `moisture` adds to the truth.
fn run(moisture: impl Fn(f64) -> f64) -> Vec<Sample> {
    let sample = |at: i64| {
        let metre = (2 * at - 60) as f64 / 60.0 * 1.2;
        let zone = [0.0, 6.0, 14.0, 24.0].iter().filter(|border| **border <= metre).count();
        let (temperature, wet) = match zone {
            1..=3 => (TRUTH[zone - 1].0, TRUTH[zone - 1].1 + moisture(metre)),
            _ => (25.0, 0.01),
        };
        Sample {
            time: Timestamp(0) + Span::seconds(2 * at),
            temperature: Celsius(temperature),
            moisture: Some(MoistureFraction(wet)),
        }
    };
    (0..700).map(sample).collect()
}

fn journey(moisture: impl Fn(f64) -> f64) -> Journey {
    lay(&run(moisture), &line(), None, |_| MetrePerMinute(1.2)).unwrap()
}

#[test]
fn the_truth_of_each_zone_is_found_at_its_place() {
    let journey = journey(|_| 0.0);
    assert!((journey.entered - Timestamp(0)).as_seconds() - 60.0 <= 1.0, "{}", journey.entered);
    assert!((journey.speed.0 - 1.2).abs() < 1e-9 && journey.is_whole());
    let found = analyse(&journey, Some(Metre(1.2)));
    for (zone, (temperature, moisture)) in found.zones.iter().zip(TRUTH) {
        assert!((zone.temperature.unwrap().0 - temperature).abs() < 1e-9);
        assert!((zone.moisture.unwrap().0 - moisture).abs() < 1e-9);
    }
    assert!((found.drop_1_to_2.unwrap() - 0.5).abs() < 1e-9);
    assert!((found.zone3_to_peak.unwrap() - 0.2).abs() < 1e-9);
    // 1.2 m at 1.2 m/min, to a sample.
    assert!((found.steam_exposure.unwrap().0 - 60.0).abs() <= 2.0, "{:?}", found.steam_exposure);
}

#[test]
fn the_peak_lies_where_it_is() {
    let bump = |metre: f64| if (metre - 3.0).abs() < 0.1 { 0.05 } else { 0.0 };
    let peak = analyse(&journey(bump), None).peak.unwrap();
    assert!((peak.metre.0 - 3.0).abs() < 0.15 && peak.zone == 0, "{peak:?}");
    assert!((peak.sample.moisture.unwrap().0 - 0.45).abs() < 1e-9);
    assert!((peak.seconds - 150.0).abs() < 8.0, "{}", peak.seconds);
}

#[test]
fn a_band_that_stands_for_a_while_carries_the_logger_no_further() {
    let samples = run(|_| 0.0);
    let stands = |time: Timestamp| {
        let second = (time - Timestamp(0)).as_seconds();
        MetrePerMinute(if (200.0..320.0).contains(&second) { 0.0 } else { 1.2 })
    };
    let slow = lay(&samples, &line(), None, stands).unwrap();
    let place =
        |second: i64| slow.places.iter().find(|place| place.sample.time.0 == second * 1_000_000).unwrap().metre.0;
    assert!((place(320) - place(200)).abs() < 1e-9);
    assert!((place(380) - place(320) - 1.2).abs() < 1e-9);
}

#[test]
fn an_injector_that_gives_nothing_is_found() {
    // Each working injector leaves the air behind it wetter by 3 % vol; the second of three is dead.
    let steam = |metre: f64| 0.03 * [0.4, 1.2].iter().filter(|at| metre >= **at).count() as f64;
    let found = injectors(&journey(steam), &[0.4, 0.8, 1.2].map(Metre));
    assert_eq!(found.iter().map(|injector| injector.works).collect::<Vec<_>>(), [Some(true), Some(false), Some(true)]);
    // A sample on the border may count to either side.
    assert!((found[0].rise.unwrap() - 0.03).abs() < 0.006, "{found:?}");
    assert_eq!(injectors(&journey(steam), &[Metre(40.0)])[0].works, None, "beyond the oven");
}

#[test]
fn a_wet_zone_wets_the_surface_and_a_dry_one_does_not() {
    let pressure = Pascal(101_325.0);
    let wet = surface(&journey(|_| 0.2), 0.42, pressure).unwrap();
    let dry = surface(&journey(|_| -0.39), 0.42, pressure).unwrap();
    assert!(wet.wetted.0 > 5.0 && wet.gelatinised_while_wet, "{wet:?}");
    assert_eq!((dry.wetted.0, dry.gelatinised_while_wet), (0.0, false), "{dry:?}");
    assert!(surface(&journey(|_| 0.0), 0.95, pressure).is_err());
}

#[test]
fn two_runs_are_told_apart_zone_by_zone() {
    let before = analyse(&journey(|_| 0.0), None);
    let after = analyse(&journey(|metre| if metre > 14.0 { 0.02 } else { 0.0 }), None);
    let changes = compare(&before, &after);
    assert!(changes[0].moisture.unwrap().abs() < 1e-12 && (changes[2].moisture.unwrap() - 0.02).abs() < 1e-12);
}

#[test]
fn samples_that_are_no_journey_say_why() {
    let speed = |_| MetrePerMinute(1.2);
    assert_eq!(lay(&[], &line(), None, speed), Err(NoJourney::TooFew(0)));
    assert_eq!(lay(&run(|_| 0.0)[..20], &line(), None, speed), Err(NoJourney::NeverEntered));
    let beyond = Some(Timestamp(0) + Span::seconds(5000));
    assert!(matches!(lay(&run(|_| 0.0), &line(), beyond, speed), Err(NoJourney::NothingInside { .. })));
}

//! How far a window departs from the normal, and what is expected at any speed.

use crate::oven::{Oven, key};
use normal_profile::{LearnSettings, Normal, Observation, learn};
use physics::units::MetrePerMinute;
use proptest::prelude::*;

fn learned(oven: &Oven) -> Normal {
    let settings = LearnSettings { max_components: 1, ..LearnSettings::default() };
    learn(key(), &oven.windows(1440, 1), &[], &settings).unwrap()
}

/// A window exactly on the normal at this speed.
fn usual_window(normal: &Normal, speed: f64) -> Observation {
    let expected = normal.expect(MetrePerMinute(speed));
    Observation {
        time_us: 0,
        run: 0,
        speed: MetrePerMinute(speed),
        ln_humidity: expected.zones.iter().map(|zone| zone.ln_humidity.mean).collect(),
        temperature: expected.zones.iter().map(|zone| zone.temperature.unwrap().mean).collect(),
    }
}

#[test]
fn windows_of_another_day_score_as_often_as_chi_square_says() {
    let oven = Oven::with_zones(3);
    let normal = learned(&oven);
    let another_day = oven.windows(4800, 99);
    let share = |tail: f64| {
        let beyond = another_day.iter().filter(|window| normal.departure(window).tail_probability < tail);
        beyond.count() as f64 / another_day.len() as f64
    };
    assert!((share(0.5) - 0.5).abs() < 0.08, "{}", share(0.5));
    assert!((share(0.05) - 0.05).abs() < 0.025, "{}", share(0.05));
    assert!(share(0.001) < 0.005, "{}", share(0.001));
}

#[test]
fn the_zone_that_departs_makes_the_distance() {
    let normal = learned(&Oven::with_zones(4));
    let mut wet = usual_window(&normal, 1.3);
    assert!(normal.departure(&wet).distance_squared < 1e-9);
    wet.ln_humidity[2] += 0.2;
    let departure = normal.departure(&wet);
    assert!(departure.tail_probability < 1e-9 && departure.normal_score > 5.0, "{departure:?}");
    assert!(departure.zones[2].ln_humidity_z.unwrap() > 5.0, "{departure:?}");
    let parts: f64 = departure.zones.iter().map(|zone| zone.ln_humidity + zone.temperature).sum();
    assert!((parts / departure.distance_squared - 1.0).abs() < 1e-9);
    assert!(departure.zones[2].ln_humidity > 0.9 * departure.distance_squared, "{departure:?}");

    let mut hot = usual_window(&normal, 1.3);
    hot.temperature[0] += 8.0;
    let departure = normal.departure(&hot);
    assert!(departure.zones[0].temperature > 0.9 * departure.distance_squared, "{departure:?}");
}

/// Two zones that always move together: seeing the second move half as far as the first makes the first
/// less odd, so its part is negative.
#[test]
fn a_zone_that_bears_out_another_takes_from_the_distance() {
    let mut windows = Oven::with_zones(2).windows(1440, 1);
    for window in &mut windows {
        window.ln_humidity[1] = window.ln_humidity[0] + 0.3 * (window.ln_humidity[1] + 1.3375);
    }
    let settings = LearnSettings { max_components: 1, ..LearnSettings::default() };
    let normal = learn(key(), &windows, &[], &settings).unwrap();
    let mut alone = usual_window(&normal, 1.25);
    alone.ln_humidity[0] += 0.05;
    let mut borne_out = alone.clone();
    borne_out.ln_humidity[1] += 0.025;
    let (alone, borne_out) = (normal.departure(&alone), normal.departure(&borne_out));
    assert!(borne_out.zones[1].ln_humidity < 0.0, "{borne_out:?}");
    assert!(borne_out.distance_squared < 0.5 * alone.distance_squared, "{borne_out:?}, alone {alone:?}");
}

#[test]
fn what_a_window_lacks_is_left_out_of_the_comparison() {
    let normal = learned(&Oven::with_zones(3));
    let mut window = usual_window(&normal, 1.25);
    window.ln_humidity[1] = f64::NAN;
    window.temperature.clear();
    let departure = normal.departure(&window);
    assert_eq!(departure.degrees, 2);
    assert_eq!(departure.zones[1].ln_humidity_z, None);
    assert!(departure.distance_squared < 1e-9);

    window.ln_humidity.clear();
    let departure = normal.departure(&window);
    assert_eq!((departure.degrees, departure.tail_probability, departure.normal_score), (0, 1.0, 0.0));
}

#[test]
fn outside_the_learned_speeds_the_band_widens_and_says_so() {
    let oven = Oven::with_zones(3);
    let normal = learned(&oven);
    let inside = normal.expect(MetrePerMinute(1.35));
    let outside = normal.expect(MetrePerMinute(1.60));
    assert_eq!(inside.extrapolating, None);
    let extrapolation = outside.extrapolating.unwrap();
    assert!((extrapolation.beyond_pct - 14.0).abs() < 0.5, "{extrapolation:?}");
    assert_eq!(
        extrapolation.to_string(),
        format!(
            "{:.1} % outside the learned 1.10 to 1.40 m/min: the profile of the nearest learned speed stands in, \
             with a wider band",
            extrapolation.beyond_pct
        )
    );
    for (inside, outside) in inside.zones.iter().zip(&outside.zones) {
        assert!(outside.ln_humidity.sd > 2.0 * inside.ln_humidity.sd);
        assert!(outside.temperature.unwrap().sd > 2.0 * inside.temperature.unwrap().sd);
    }
    // The same wet zone says less where nothing was learned.
    let mut wet = usual_window(&normal, 1.35);
    wet.ln_humidity[1] += 0.08;
    let mut faster = usual_window(&normal, 1.60);
    faster.ln_humidity[1] += 0.08;
    assert!(normal.departure(&faster).distance_squared < 0.5 * normal.departure(&wet).distance_squared);
}

#[test]
fn any_speed_at_all_gives_a_finite_band() {
    let mut oven = Oven::with_zones(3);
    oven.second_crew = vec![0.1, 0.3, -0.2];
    let settings = LearnSettings { max_components: 2, restarts: 1, ..LearnSettings::default() };
    let normal = learn(key(), &oven.windows(1440, 1), &[], &settings).unwrap();
    assert_eq!(normal.record().mixture.components.len(), 2);
    let is_finite = |speed: f64| {
        let expected = normal.expect(MetrePerMinute(speed));
        expected.zones.iter().all(|zone| {
            let temperature = zone.temperature.unwrap();
            [zone.ln_humidity, temperature]
                .iter()
                .all(|band| band.mean.is_finite() && band.sd.is_finite() && band.sd > 0.0)
        })
    };
    proptest!(|(speed in 0.1..10.0f64, after in 0.1..10.0f64)| {
        prop_assert!(is_finite(speed));
        let change = normal.expect_change(MetrePerMinute(speed), MetrePerMinute(after));
        prop_assert!(change.mean.iter().all(|mean| mean.is_finite()));
        let sds = change.covariance.standard_deviations();
        prop_assert!(sds.iter().all(|sd| sd.is_finite() && *sd > 0.0));
        let departure = normal.departure(&usual_window(&normal, speed));
        prop_assert!(departure.mixture_score.is_finite() && departure.mixture_score >= departure.distance_squared - 1e-9);
    });
    for odd in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(is_finite(odd), "{odd}");
        let change = normal.expect_change(MetrePerMinute(odd), MetrePerMinute(1.2));
        assert!(change.mean.iter().all(|mean| mean.is_finite()), "{odd}");
    }
}

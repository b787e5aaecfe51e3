//! What a change of speed is expected to do to the zones.

use crate::oven::{Oven, key};
use normal_profile::{ChangeSource, LearnSettings, Normal, RiseChange, RiseVerdict, learn};
use physics::units::MetrePerMinute;

const BEFORE: MetrePerMinute = MetrePerMinute(1.2);
const AFTER: MetrePerMinute = MetrePerMinute(1.32);

fn learned(oven: &Oven, rises: &[RiseChange]) -> Normal {
    let settings = LearnSettings { max_components: 1, ..LearnSettings::default() };
    learn(key(), &oven.windows(1440, 1), rises, &settings).unwrap()
}

fn ln_change() -> f64 {
    (AFTER.0 / BEFORE.0).ln()
}

/// One rise in twenty was met by nobody (ln humidity up 1.5 per ln speed): it is left out, and the
/// band is that of the rises that were met.
#[test]
fn unmatched_rises_neither_move_nor_widen_the_practice() {
    let oven = Oven::with_zones(4);
    let rises = oven.rises(100, 5, 9);
    let normal = learned(&oven, &rises);
    let practice = normal.record().rises.clone().unwrap();
    assert!((88..=97).contains(&practice.used), "{practice:?}");
    let history = &normal.record().rise_history;
    let with = |verdict| history.iter().filter(|rise| rise.verdict == verdict).count();
    assert_eq!((with(RiseVerdict::Learned), with(RiseVerdict::Unlike)), (practice.used, 100 - practice.used));
    // The last five are those that nobody met; a small one can pass for one that was met.
    let of_any_size = history[95..].iter().filter(|rise| rise.ln_speed_change > 0.04);
    let verdicts: Vec<RiseVerdict> = of_any_size.map(|rise| rise.verdict).collect();
    assert!(verdicts.len() >= 3 && verdicts.iter().all(|verdict| *verdict == RiseVerdict::Unlike), "{verdicts:?}");
    let expected = normal.expect_change(BEFORE, AFTER);
    assert_eq!(expected.source, ChangeSource::Rises { used: practice.used });
    for zone in 0..4 {
        let error = expected.mean[zone] - oven.slope[zone] * ln_change();
        assert!(error.abs() < 0.005, "zone {}: {error}", zone + 1);
        let sd = expected.covariance.get(zone, zone).sqrt();
        assert!((0.012..0.0185).contains(&sd), "zone {}: {sd}, the truth is 0.015", zone + 1);
    }
}

/// Crews that answer late: wet when the rise has just come through, as before some minutes later.
#[test]
fn what_is_left_of_a_rise_once_settled_is_learned_by_itself() {
    let oven = Oven::with_zones(3);
    let mut rises = oven.rises(30, 0, 2);
    for rise in &mut rises {
        rise.settled_ln_humidity_change.iter_mut().for_each(|change| *change -= 0.8 * rise.ln_speed_change);
    }
    let normal = learned(&oven, &rises);
    let (first, settled) = (normal.expect_change(BEFORE, AFTER), normal.expect_settled_change(BEFORE, AFTER));
    for (first, settled) in first.mean.iter().zip(&settled.mean) {
        assert!((first - settled - 0.8 * ln_change()).abs() < 0.01, "{first} and {settled}");
    }
    rises.iter_mut().for_each(|rise| rise.settled_ln_humidity_change.fill(f64::NAN));
    let unknown = learned(&oven, &rises);
    assert_eq!(unknown.expect_settled_change(BEFORE, AFTER), unknown.expect_change(BEFORE, AFTER));
}

#[test]
fn a_fall_is_the_mirror_of_a_rise() {
    let oven = Oven::with_zones(3);
    let normal = learned(&oven, &oven.rises(30, 1, 2));
    let (rise, fall) = (normal.expect_change(BEFORE, AFTER), normal.expect_change(AFTER, BEFORE));
    for (rise, fall) in rise.mean.iter().zip(&fall.mean) {
        assert!((rise + fall).abs() < 1e-12);
    }
}

#[test]
fn rises_that_cannot_be_used_are_not() {
    let oven = Oven::with_zones(3);
    let mut rises = oven.rises(8, 0, 4);
    rises[0].ln_speed_change = f64::NAN;
    rises[1].ln_humidity_change[1] = f64::INFINITY;
    rises[2].ln_humidity_change.pop();
    rises[3].ln_speed_change = 0.001;
    let normal = learned(&oven, &rises);
    assert_eq!(normal.record().rises, None);
    let verdicts: Vec<RiseVerdict> = normal.record().rise_history.iter().map(|rise| rise.verdict).collect();
    let (unknown, small, learned) = (RiseVerdict::ZoneUnknown, RiseVerdict::TooSmall, RiseVerdict::Learned);
    assert_eq!(verdicts, [unknown, unknown, small, learned, learned, learned, learned], "the first has no size");
    assert_eq!(normal.expect_change(BEFORE, AFTER).source, ChangeSource::Mixture);
    assert_eq!(Normal::from_json(&normal.to_json()).unwrap().record(), normal.record());
}

#[test]
fn without_rises_the_profiles_at_the_learned_speeds_tell_the_change() {
    let oven = Oven::with_zones(3);
    let expected = learned(&oven, &[]).expect_change(BEFORE, AFTER);
    assert_eq!(expected.source, ChangeSource::Mixture);
    for zone in 0..3 {
        let error = expected.mean[zone] - oven.slope[zone] * ln_change();
        assert!(error.abs() < 0.01, "zone {}: {error}", zone + 1);
        // Two five-minute means 20 minutes apart: the wander is forgotten in between.
        let sd = expected.covariance.get(zone, zone).sqrt();
        assert!((0.015..0.035).contains(&sd), "zone {}: {sd}", zone + 1);
    }
}

#[test]
fn a_line_that_only_knows_one_speed_is_expected_to_hold_its_humidity() {
    let mut oven = Oven::with_zones(3);
    oven.speeds = vec![1.25];
    let normal = learned(&oven, &[]);
    let small = normal.expect_change(MetrePerMinute(1.25), MetrePerMinute(1.28));
    let large = normal.expect_change(MetrePerMinute(1.25), MetrePerMinute(1.5));
    assert_eq!(small.source, ChangeSource::HumidityHolds);
    assert_eq!(large.mean, [0.0; 3]);
    assert!(large.covariance.get(1, 1) > small.covariance.get(1, 1));
}

#[test]
fn a_change_beyond_the_learned_speeds_has_a_wider_band() {
    let oven = Oven::with_zones(3);
    let normal = learned(&oven, &[]);
    let inside = normal.expect_change(MetrePerMinute(1.2), MetrePerMinute(1.38));
    let beyond = normal.expect_change(MetrePerMinute(1.4), MetrePerMinute(1.61));
    assert!(beyond.covariance.get(0, 0) > inside.covariance.get(0, 0) + 0.002);
}

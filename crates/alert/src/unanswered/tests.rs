#![allow(clippy::unwrap_used)]
use physics::units::Metre;
use reading::{Firing, Zone};

use super::*;

/// ln speed of a rise by a tenth.
const RISE: f64 = 0.095;

fn line() -> Line {
    Line {
        id: "tunnel-1".into(),
        name: "Tunnel oven 1".into(),
        firing: Firing::Direct,
        fuel: None,
        steam_section: None,
        zones: vec![Zone { length: Metre(7.0) }; 4],
    }
}

/// Practice that holds the humidity within 2 %, but for this correlation between the zones.
fn practice(correlation: f64) -> Practice {
    let covariance = SquareMatrix::from_fn(4, |row, column| 4e-4 * if row == column { 1.0 } else { correlation });
    Practice { covariance, ..Practice::unknown(4) }
}

/// Zones that have changed by this from 0, the first `reached` of them reached.
fn zones(changes: [f64; 4], expected: [f64; 4], reached: usize) -> Vec<ZoneEvidence> {
    let zone = |index: usize| ZoneEvidence {
        zone: index + 1,
        before: 0.0,
        observed: changes[index],
        expected: expected[index],
        sd: 0.02,
        reached: index < reached,
    };
    (0..4).map(zone).collect()
}

fn of(changes: [f64; 4], practice: &Practice) -> Unanswered {
    unanswered(RISE, &line(), &zones(changes, [0.0; 4], 4), practice).unwrap()
}

#[test]
fn a_rise_that_was_met_lies_at_0_and_one_in_step_with_the_load_at_1() {
    let met = of([0.0; 4], &practice(0.0));
    assert!(met.share.abs() < 1e-12 && met.z.abs() < 1e-12, "{met:?}");
    let unmet = of([0.0, 0.4375 * RISE, RISE, RISE], &practice(0.0));
    assert!((unmet.share - 1.0).abs() < 1e-12 && unmet.z > 6.0, "{unmet:?}");
    let half = of([0.0, 0.0, RISE / 2.0, RISE / 2.0], &practice(0.0));
    assert!((0.4..0.5).contains(&half.share), "{half:?}");
}

#[test]
fn nothing_is_said_before_a_zone_is_reached_that_follows_the_load() {
    let wet = [0.2; 4];
    let said = |reached| unanswered(RISE, &line(), &zones(wet, [0.0; 4], reached), &practice(0.0)).is_some();
    assert_eq!([0, 1, 2, 3, 4].map(said), [false, false, false, true, true]);
}

#[test]
fn a_fall_of_zone_1_does_not_pass_for_a_rise_of_the_others() {
    let fallen = of([-0.1, 0.0, 0.0, 0.0], &practice(0.8));
    assert!(fallen.share.abs() < 1e-12, "{fallen:?}");
}

#[test]
fn what_a_new_crew_moves_in_all_zones_is_not_the_load() {
    let same_crew = practice(0.0);
    let new_crew = Practice { handover: vec![0.06; 4], ..practice(0.0) };
    let all = [0.08; 4];
    assert!(of(all, &same_crew).z > 4.0);
    assert!(of(all, &new_crew).z < 1.0, "{:?}", of(all, &new_crew));
    let drier_first = [-0.1, -0.05, 0.0, 0.0];
    assert!(of(drier_first, &new_crew).share.abs() < 0.3, "the late zones have not moved");
    let late = [0.0, 0.04, 0.13, 0.16];
    assert!(of(late, &new_crew).z > 4.0, "{:?}", of(late, &new_crew));
}

#[test]
fn where_crews_usually_answer_late_the_first_minutes_say_nothing() {
    let usual = [0.0, 0.04, 0.08, 0.08];
    let evidence = zones([0.0, 0.05, 0.12, 0.12], usual, 4);
    assert_eq!(unanswered(RISE, &line(), &evidence, &practice(0.0)), None);
}

/// Values of the standard normal distribution from a published table (from memory).
#[test]
fn chances_are_those_of_the_normal_distribution() {
    for (z, chance) in [(-1.0, 0.8413), (0.0, 0.5), (1.645, 0.05), (2.326, 0.01), (3.0, 0.00135)] {
        let found = upper_tail(z);
        assert!((found / chance - 1.0).abs() < 5e-3, "{z}: {found}, {chance} expected");
    }
}

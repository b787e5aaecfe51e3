//! Baselines of invented shifts whose truth is known.
#![allow(clippy::unwrap_used)]

use rand::{Rng, SeedableRng};
use rand_distr::StandardNormal;
use rand_xoshiro::Xoshiro256PlusPlus;
use reading::{Span, Timestamp};

use super::*;

/// kWh that a shift takes before anything is baked, and for each tonne of two products.
const TRUTH: [f64; 3] = [1500.0, 320.0, 410.0];

fn offered() -> Vec<Variable> {
    let variable = |name: &str, unit: &str| Variable { name: name.into(), unit: unit.into() };
    vec![variable("T800", "t"), variable("R060", "t"), variable("ambient temperature", "degC")]
}

/// Invented shifts of 8 h: energy by `TRUTH` with 2 % scatter, and an ambient temperature without influence.
fn shifts(count: usize, seed: u64) -> Vec<BaselinePoint> {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    (0..count)
        .map(|at| {
            let total = random.gen_range(4.0..9.0);
            let share = random.gen_range(0.0..1.0);
            let values = vec![total * share, total * (1.0 - share), random.gen_range(5.0..30.0)];
            let scatter: f64 = random.sample(StandardNormal);
            let energy_kwh = TRUTH[0] + TRUTH[1] * values[0] + TRUTH[2] * values[1] + 60.0 * scatter;
            BaselinePoint { starts: Timestamp(0) + Span::minutes(480 * at as i64), energy_kwh, values }
        })
        .collect()
}

#[test]
fn the_invented_truth_lies_within_two_standard_errors_as_often_as_it_should() {
    let mut within = 0;
    for seed in 0..200 {
        let baseline = Baseline::fit(&offered()[..2], &shifts(60, seed)).unwrap();
        let fit = &baseline.fit;
        let off = (fit.coefficients[0] - TRUTH[1]).abs() / fit.errors[0];
        within += u32::from(off < 2.0);
    }
    // 95.0 % by Student's t with 57 degrees of freedom; three standard deviations of 200 draws.
    assert!((181..=199).contains(&within), "{within} of 200");
}

#[test]
fn a_variable_without_influence_is_left_out() {
    let baseline = Baseline::fit(&offered(), &shifts(90, 4)).unwrap();
    assert_eq!(baseline.variables, offered()[..2]);
    assert_eq!(baseline.left_out, offered()[2..]);
    assert!(baseline.quality.r2 > 0.9 && baseline.quality.cv_rmse < 0.03, "{:?}", baseline.quality);
    let expected = baseline.expected_kwh(&[3.0, 3.0, 99.0]);
    assert!((expected - (1500.0 + 3.0 * 320.0 + 3.0 * 410.0)).abs() < 40.0, "{expected}");
    assert!(baseline.beyond(&[3.0, 3.0, 99.0]).is_empty(), "what does not count cannot be beyond");
    assert_eq!(baseline.beyond(&[30.0, 3.0, 20.0]), [&offered()[0]]);
    assert!(baseline.is_of_its_kind(&[10.0, 3.0, 20.0]), "a little beyond is extrapolated");
    assert!(!baseline.is_of_its_kind(&[3.0, 3.0, 99.0]), "no such weather has been seen");
}

#[test]
fn few_records_keep_the_strongest_variables_whatever_their_order() {
    let mut points = shifts(20, 9);
    for point in &mut points {
        // The weather counts too, and less: twenty records have room for two variables.
        point.energy_kwh += 12.0 * point.values[2];
        point.values.rotate_right(1);
    }
    let mut turned = offered();
    turned.rotate_right(1);
    let baseline = Baseline::fit(&turned, &points).unwrap();
    assert_eq!(baseline.variables, offered()[..2]);
}

#[test]
fn bad_baselines_are_refused_with_the_reason() {
    let reason = |points: &[BaselinePoint]| Baseline::fit(&offered(), points).unwrap_err();
    assert_eq!(reason(&shifts(11, 1)), BaselineRefused::TooFew { found: 11, needed: 12 });

    let mut unrelated = shifts(60, 2);
    let energies: Vec<f64> = unrelated.iter().map(|point| point.energy_kwh).collect();
    unrelated.iter_mut().zip(energies.iter().cycle().skip(17)).for_each(|(point, other)| point.energy_kwh = *other);
    assert!(matches!(reason(&unrelated), BaselineRefused::NothingCounts { .. } | BaselineRefused::Loose(_)));

    let mut backwards = shifts(60, 3);
    backwards.iter_mut().for_each(|point| point.energy_kwh = 9000.0 - point.energy_kwh);
    assert!(matches!(reason(&backwards), BaselineRefused::Backwards { .. }));

    let mut changed = shifts(60, 4);
    changed[36..].iter_mut().for_each(|point| point.energy_kwh *= 0.9);
    let BaselineRefused::Shifts(quality) = reason(&changed) else { panic!("a change in the middle passes") };
    assert!((0.05..0.12).contains(&quality.nmbe), "{quality:?}");

    let mut loose = shifts(60, 5);
    loose.iter_mut().step_by(2).for_each(|point| point.energy_kwh *= 1.6);
    assert!(matches!(reason(&loose), BaselineRefused::Loose(_) | BaselineRefused::NothingCounts { .. }));
}

//! The lagged response of invented series whose response is known.

use normal_profile::{LearnSettings, Stretch, lagged_response, learn};
use physics::units::MetrePerMinute;
use rand::SeedableRng;
use rand_xoshiro::Xoshiro256Plus;

use crate::oven::{Oven, key, normal};

/// Stretches in which the input is set anew every 80 steps and answered after 7 with a decay of 0.8 and a gain
/// of 0.5, while the output wanders and its sensor is noisy.
fn invented(stretches: usize, gain: f64, seed: u64) -> Vec<Stretch> {
    let mut random = Xoshiro256Plus::seed_from_u64(seed);
    (0..stretches)
        .map(|_| {
            let level = 0.1 * normal(&mut random);
            let settings: Vec<f64> = (0..5).map(|_| level + 0.06 * normal(&mut random)).collect();
            let input: Vec<f64> = (0..400).map(|at| settings[at / 80]).collect();
            let (mut answer, mut wander) = (gain * input[0], 0.0);
            let output = (0..input.len())
                .map(|at| {
                    let heard: f64 = input[at.saturating_sub(7)];
                    answer = 0.8 * answer + 0.2 * gain * heard;
                    wander = 0.98 * wander + 0.002 * normal(&mut random);
                    -1.5 + answer + wander + 0.004 * normal(&mut random)
                })
                .collect();
            Stretch { input, output }
        })
        .collect()
}

#[test]
fn delay_and_gain_are_found_under_noise_and_wander() {
    let found = lagged_response(&invented(12, 0.5, 4), 40).unwrap();
    assert!(found.delay.abs_diff(7) <= 1, "{found:?}");
    assert!((found.gain / 0.5 - 1.0).abs() < 0.15, "{found:?}");
    assert!((found.mean_lag() - 11.0).abs() < 2.0, "{found:?}");
    assert!(found.is_clear(), "{found:?}");
}

#[test]
fn an_output_that_does_not_answer_is_not_clear() {
    for seed in 0..5 {
        let found = lagged_response(&invented(12, 0.0, seed), 40).unwrap();
        assert!(!found.is_clear(), "seed {seed}: {found:?}");
    }
}

#[test]
fn what_cannot_be_judged_gives_nothing() {
    let never_changed = Stretch { input: vec![1.0; 400], output: vec![2.0; 400] };
    assert_eq!(lagged_response(&[never_changed], 10), None);
    assert_eq!(lagged_response(&[], 10), None);
    let short = Stretch { input: vec![1.0, 2.0, 1.0], output: vec![1.0, 2.0, 1.0] };
    assert_eq!(lagged_response(&[short], 10), None);
    // A delay of 10 needs 30 steps to judge by after the first 10.
    let of_steps = |steps: usize| Stretch {
        input: (0..=steps).map(|at| f64::from(u8::from(at % 7 < 3))).collect(),
        output: (0..=steps).map(|at| f64::from(u8::from(at % 5 < 3))).collect(),
    };
    assert_eq!(lagged_response(&[of_steps(42)], 10), None);
    assert_ne!(lagged_response(&[of_steps(43)], 10), None);
    let mut broken = invented(1, 0.5, 4);
    assert_ne!(lagged_response(&broken, 10), None);
    broken[0].output[170] = f64::NAN;
    assert_eq!(lagged_response(&broken, 10), None);
}

/// An oven that follows its speed within a few windows, read off what was learned from it.
#[test]
fn a_normal_knows_how_its_zones_answer() {
    let mut oven = Oven::with_zones(2);
    oven.slope = vec![0.0, 0.8];
    oven.wander = 0.004;
    // From run to run the crew changes as well as the speed, and no answer goes from one to the next.
    oven.second_crew = vec![0.5, 0.5];
    let settings = LearnSettings { max_components: 1, ..LearnSettings::default() };
    let normal = learn(key(), &oven.windows(1440, 3), &[], &settings).unwrap();
    let responses = &normal.record().responses;
    let [Some(first), Some(second)] = responses.as_slice() else { panic!("{responses:?}") };
    assert!(!first.is_clear, "{first:?}");
    assert!(second.is_clear && (second.gain - 0.8).abs() < 0.1, "{second:?}");
    assert!(second.delay_s == 0.0 && second.lag_s < 15.0, "this oven answers at once: {second:?}");

    oven.speeds = vec![1.25];
    let mut windows = oven.windows(1440, 3);
    windows.iter_mut().for_each(|window| window.speed = MetrePerMinute(1.25));
    let steady = learn(key(), &windows, &[], &settings).unwrap();
    assert_eq!(steady.record().responses, [None, None]);
}

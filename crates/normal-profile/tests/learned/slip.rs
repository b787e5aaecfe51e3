//! A normal that slips away, and one that does not.

use normal_profile::{LearnSettings, Normal, Observation, ShiftFit, learn, slipping};

use crate::oven::{Oven, key};

const SHIFT_WINDOWS: usize = 480;

fn learned(oven: &Oven) -> Normal {
    let settings = LearnSettings { max_components: 1, ..LearnSettings::default() };
    learn(key(), &oven.windows(2400, 1), &[], &settings).unwrap()
}

/// Shifts of 4 h of baking on an oven.
fn fits(normal: &Normal, windows: &[Observation]) -> Vec<ShiftFit> {
    windows.chunks(SHIFT_WINDOWS).filter_map(|shift| normal.shift_fit(shift)).collect()
}

#[test]
fn an_oven_that_runs_as_it_was_learned_does_not_slip() {
    let oven = Oven::with_zones(3);
    let normal = learned(&oven);
    let fits = fits(&normal, &oven.windows(60 * SHIFT_WINDOWS, 7));
    let outside = fits.iter().map(|fit| fit.outside).sum::<f64>() / fits.len() as f64;
    assert!((0.03..0.12).contains(&outside), "{outside}");
    for shifts in 1..=fits.len() {
        assert_eq!(slipping(&fits[..shifts]), None, "after {shifts} shifts");
    }
}

/// Zone 3 gets 10 % wetter and zone 1 4 °C hotter with the seventh shift, as after work on the oven.
#[test]
fn a_slip_is_told_with_the_shift_with_which_it_began() {
    let oven = Oven::with_zones(3);
    let normal = learned(&oven);
    let mut windows = oven.windows(16 * SHIFT_WINDOWS, 7);
    let begins = windows[6 * SHIFT_WINDOWS].time_us;
    for window in &mut windows[6 * SHIFT_WINDOWS..] {
        window.ln_humidity[2] += 0.1;
        window.temperature[0] += 4.0;
    }
    let mut fits = fits(&normal, &windows);
    // The last shift before was a middling one.
    fits[5].outside = 0.4;
    assert_eq!(slipping(&fits[..6]), None);
    assert_eq!(slipping(&fits[..7]), None, "one shift is a bad day");
    let slip = slipping(&fits[..9]).unwrap();
    assert_eq!(slip.since_us, begins);
    assert!(slip.outside > 0.8, "{slip:?}");
    assert!((slip.zones[2].ln_humidity.by - 0.1).abs() < 0.02, "{slip:?}");
    assert!((slip.zones[0].temperature.unwrap().by - 4.0).abs() < 0.5, "{slip:?}");
    assert!(slip.zones[1].ln_humidity.z.abs() < 0.5, "{slip:?}");
}

#[test]
fn what_fits_again_is_no_slip() {
    let oven = Oven::with_zones(3);
    let normal = learned(&oven);
    let mut windows = oven.windows(40 * SHIFT_WINDOWS, 7);
    windows[..10 * SHIFT_WINDOWS].iter_mut().for_each(|window| window.ln_humidity[1] += 0.15);
    let fits = fits(&normal, &windows);
    assert!(slipping(&fits[..10]).is_some());
    assert_eq!(slipping(&fits[..22]), None);
}

/// A shift of a few minutes, or one without a sensor, is no evidence.
#[test]
fn little_baking_tells_little() {
    let oven = Oven::with_zones(3);
    let normal = learned(&oven);
    let mut windows = oven.windows(400, 7);
    windows.iter_mut().for_each(|window| window.ln_humidity[1] += 0.3);
    assert_eq!(normal.shift_fit(&windows[..29]), None);
    let short = normal.shift_fit(&windows[..40]).unwrap();
    assert_eq!(slipping(&vec![short; 5]), None);
    windows.iter_mut().for_each(|window| window.temperature[1] = f64::NAN);
    assert_eq!(normal.shift_fit(&windows), None);
    assert_eq!(slipping(&[]), None);
}

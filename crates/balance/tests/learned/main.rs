//! A balance learned from a history that was made from known values: found again, kept, asked about a rate change, and
//! refused when it cannot be.

#![allow(missing_docs, clippy::unwrap_used)]

mod history;
mod review;

use balance::{Balance, CannotFit, FileError, Unknown, Untold};
use normal_profile::NotWhole;

use history::{EXHAUST_KG_H, history, history_in, learn, many_speeds};

#[test]
fn what_made_the_history_is_found_again() {
    let balance = learn(&history(&many_speeds())).unwrap();
    for (unknown, made) in [
        (Unknown::DryingShape, 1.8),
        (Unknown::DryingScale, 11.0),
        (Unknown::Exchange, 80.0),
        (Unknown::DamperPower, 1.5),
        (Unknown::Exhaust(1), EXHAUST_KG_H[1]),
    ] {
        let found = balance.record().estimates.iter().find(|estimate| estimate.unknown == unknown).unwrap();
        assert!((found.value / made - 1.0).abs() < 0.1, "{found:?} for {made}");
        assert!(found.low <= made && made <= found.high, "{found:?} for {made}");
    }
    // A block is foretold closer than its own noise would be.
    let blocks = history(&[1.5]);
    let told = balance.predict(&balance.record().usual.of_block(&blocks[0]));
    for (told, made) in told.states.iter().zip(&blocks[0].ln_humidity) {
        assert!((told.humidity.0.ln() - made).abs() < 0.03, "{} {}", told.humidity.0, made.exp());
    }
    assert!(told.outside_pct > 10.0, "history ends at 1.34 m/min: {}", told.outside_pct);
}

/// Fast runs in sultry air and slow ones in dry: what dries late must not be taken for weather, nor weather for drying.
#[test]
fn weather_that_is_measured_does_not_bend_what_is_learned() {
    let speeds: Vec<f64> = (0..40).map(|at| 1.05 + 0.0075 * f64::from(at)).collect();
    let sultry = |run: u32| 0.006 + 0.0009 * f64::from(run);
    let balance = learn(&history_in(&speeds, sultry)).unwrap();
    let air = balance.record().usual.ambient.unwrap();
    assert!((air.humidity - 0.0101).abs() < 1e-3 && (air.spread - 0.0026).abs() < 1e-3, "{air:?}");
    let blocks = history_in(&[1.5], |_| 0.015);
    let told = balance.predict(&balance.record().usual.of_block(&blocks[0]));
    for (told, made) in told.states.iter().zip(&blocks[0].ln_humidity) {
        assert!((told.humidity.0.ln() - made).abs() < 0.03, "{} {}", told.humidity.0, made.exp());
    }
    // Where today's weather is not known, the band is wider for it.
    let width = |running| {
        let zone = balance.predict(&running).zones[2];
        zone.high_pct / zone.low_pct
    };
    let known = balance.record().usual.of_block(&blocks[0]);
    assert!(width(balance::Running { ambient_humidity: None, ..known.clone() }) > width(known));
}

#[test]
fn the_same_history_gives_the_same_bytes_and_the_file_gives_the_same_balance() {
    let blocks = history(&many_speeds());
    let written = learn(&blocks).unwrap().to_json();
    assert_eq!(written, learn(&blocks).unwrap().to_json());
    let read = Balance::from_json(&written).unwrap();
    assert_eq!(read.to_json(), written);
    assert!(matches!(
        Balance::from_json(&written.replacen("millbrook", "millbrooc", 1)),
        Err(FileError::NotWhole(NotWhole::Changed { .. }))
    ));
    let refused = |text: &str| Balance::from_json(text).unwrap_err().to_string();
    assert!(refused("{\"format\":99}").contains("reads format 1"), "{}", refused("{\"format\":99}"));
    assert!(refused("[1]").contains("not the file of a balance"), "{}", refused("[1]"));
}

#[test]
fn what_the_data_cannot_tell_is_said() {
    let mut blocks = history(&many_speeds());
    assert!(!learn(&blocks).unwrap().record().untold.contains(&Untold::Dampers));
    for block in &mut blocks {
        block.opening = vec![f64::NAN; 3];
        block.steam_kg_h = f64::NAN;
    }
    let blind = learn(&blocks).unwrap();
    assert!(blind.record().untold.contains(&Untold::Dampers) && blind.record().untold.contains(&Untold::SteamFlow));
    assert!(blind.record().untold.contains(&Untold::Ambient) && blind.record().usual.ambient.is_none());
    let one_speed = learn(&history(&[1.2; 24])).unwrap();
    let told: Vec<String> = one_speed.record().untold.iter().map(ToString::to_string).collect();
    assert!(told.iter().any(|told| told.contains("hardly any speed but one (1.20 to 1.20 m/min)")), "{told:?}");
    // Where nothing was learned, the band of another speed is wider.
    let width = |balance: &Balance| {
        let zone = balance.predict(&balance.record().usual.untouched(1.5)).zones[2];
        zone.high_pct / zone.low_pct
    };
    assert!(width(&one_speed) > width(&learn(&history(&many_speeds())).unwrap()));
}

#[test]
fn too_little_and_a_silent_zone_are_refused_with_what_is_missing() {
    let blocks = history(&many_speeds());
    assert_eq!(learn(&blocks[..8]).unwrap_err(), CannotFit::TooLittle { blocks: 8, runs: 2 });
    let mut silent = blocks.clone();
    silent.iter_mut().for_each(|block| block.ln_humidity[1] = f64::NAN);
    let why = learn(&silent).unwrap_err();
    assert!(why.to_string().contains("zone 2 has no humidity"), "{why}");
}

/// One bad hour among good ones is left out and does not bend the rest.
#[test]
fn a_bad_hour_is_left_out() {
    let mut blocks = history(&many_speeds());
    for (at, block) in blocks.iter_mut().enumerate() {
        block.ln_humidity[2] += 0.01 * ((at * 5) as f64).sin();
    }
    blocks[9].ln_humidity[2] += 0.8;
    let balance = learn(&blocks).unwrap();
    assert_eq!(balance.record().data.left_out, 1);
}

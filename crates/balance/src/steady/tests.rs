use std::sync::Arc;

use physics::units::{Celsius, HumidityRatio, MetrePerMinute};
use reading::{LineIndex, SignalId, Timestamp, Trouble, TroubleKind, ZoneWindow};

use super::*;

/// A window of 30 s, so many after midnight, of an oven of two zones.
fn window(number: i64, speed: f64, damper: f64) -> Window {
    let starts = Timestamp(number * 30_000_000);
    let zone = ZoneWindow {
        humidity: Some(HumidityRatio(0.2)),
        air_temperature: Some(Celsius(230.0)),
        exhaust_damper: Some(damper),
    };
    Window {
        product: Some(Arc::from("T800")),
        band_speed: Some(MetrePerMinute(speed)),
        steam_flow: Some(180.0),
        zones: vec![zone; 2],
        ..Window::unmeasured(LineIndex(0), starts, starts + Span::seconds(30), RunningState::Baking)
    }
}

/// The oven of 20 m is full of dough of one speed after 20 min at 1 m/min; 4 min later it is at rest.
#[test]
fn a_change_of_speed_is_left_out_until_the_oven_is_full_of_the_new_one() {
    let windows: Vec<Window> =
        (0..200).map(|number| window(number, if number < 100 { 1.0 } else { 1.1 }, 40.0)).collect();
    let blocks = steady_blocks(&windows, "T800", 20.0);
    assert!((blocks[0].time_us - 24 * 60_000_000).abs() <= 60_000_000, "{}", blocks[0].time_us);
    let after = blocks.iter().find(|block| block.speed_m_min > 1.05).unwrap();
    let full_again = (50.0 + 20.0 / 1.1 + 4.0) * 60e6;
    assert!((after.time_us as f64 - full_again).abs() < 60e6, "{}", after.time_us);
    assert!(
        blocks.iter().all(|block| (block.speed_m_min - 1.0).abs() < 1e-9 || (block.speed_m_min - 1.1).abs() < 1e-9)
    );
    assert!(blocks.iter().all(|block| block.minutes <= 10.0));
}

#[test]
fn a_damper_that_moves_a_gap_and_a_doubted_signal_break_the_rest() {
    let steady: Vec<Window> = (0..200).map(|number| window(number, 1.0, 40.0)).collect();
    let minutes =
        |windows: &[Window]| -> f64 { steady_blocks(windows, "T800", 20.0).iter().map(|block| block.minutes).sum() };
    let whole = minutes(&steady);
    let mut moved = steady.clone();
    moved[120..].iter_mut().for_each(|window| window.zones[1].exhaust_damper = Some(50.0));
    assert!((whole - minutes(&moved) - 6.0).abs() <= 3.0, "{}", minutes(&moved));
    let mut gap = steady.clone();
    gap[120].state = RunningState::Gap;
    assert!(minutes(&gap) < whole - 20.0);
    let doubted = |quantity| {
        let mut doubted = steady.clone();
        let (signal, kind, since) = (SignalId(0), TroubleKind::Silent, doubted[120].starts);
        doubted[120].troubles = vec![Trouble { signal, zone: None, quantity, kind, since }];
        doubted
    };
    assert!(minutes(&doubted(Quantity::DewPoint)) < whole - 20.0);
    assert_eq!(minutes(&doubted(Quantity::GoodMass)), whole, "the counter of good product tells nothing of water");
    assert_eq!(steady_blocks(&steady, "B400", 20.0), []);
}

#[test]
fn what_is_not_measured_is_not_a_number() {
    let mut windows: Vec<Window> = (0..100).map(|number| window(number, 1.0, 40.0)).collect();
    for window in &mut windows {
        window.steam_flow = None;
        window.zones[0].exhaust_damper = None;
    }
    let block = &steady_blocks(&windows, "T800", 20.0)[0];
    assert!(block.steam_kg_h.is_nan() && block.ambient_humidity.is_nan() && block.opening[0].is_nan());
    assert!((block.ln_humidity[1] - 0.2_f64.ln()).abs() < 1e-12 && (block.opening[1] - 0.4).abs() < 1e-12);
}

#![allow(clippy::unwrap_used)]
use super::*;
use crate::plant::{Firing, Line, Zone};
use crate::shift::ShiftCalendar;
use crate::signal::{Signal, SignalMap};
use crate::value::{Quality, Value};
use physics::units::Metre;
use proptest::prelude::*;

const SPEED: SignalId = SignalId(0);
const PRODUCT: SignalId = SignalId(1);
const DEW: SignalId = SignalId(2);

fn signal(quantity: Quantity, zone: Option<usize>) -> Signal {
    Signal::of_topic(&format!("mill/{}", quantity.name()), LineIndex(0), zone, quantity)
}

fn builder() -> WindowBuilder {
    builder_of(vec![
        signal(Quantity::BandSpeed, None),
        signal(Quantity::Product, None),
        signal(Quantity::DewPoint, Some(1)),
    ])
}

fn builder_of(signals: Vec<Signal>) -> WindowBuilder {
    let plant = Plant {
        site: "millbrook".into(),
        name: "Millbrook Bakery".into(),
        pressure: Pascal(101_325.0),
        shifts: ShiftCalendar::new(chrono_tz::UTC, Vec::new()),
        lines: vec![Line {
            id: "tunnel-1".into(),
            name: "Tunnel oven 1".into(),
            firing: Firing::Direct,
            fuel: None,
            steam_section: None,
            zones: vec![Zone { length: Metre(7.0) }],
        }],
        products: Vec::new(),
        signals: SignalMap::new(signals),
    };
    WindowBuilder::new(Arc::new(plant), LineIndex(0), WindowSettings::default())
}

fn reading(signal: SignalId, second: f64, value: f64) -> Reading {
    Reading { signal, time: Timestamp((second * 1e6) as i64), value: Value::Number(value), quality: Quality::Good }
}

fn product(second: i64, code: &str) -> Reading {
    Reading { value: Value::Text(code.into()), ..reading(PRODUCT, second as f64, 0.0) }
}

fn drain(builder: &mut WindowBuilder) -> Vec<Window> {
    std::iter::from_fn(|| builder.next_closed()).collect()
}

#[test]
fn a_window_closes_when_every_signal_has_passed_it() {
    let mut builder = builder();
    builder.push(&reading(SPEED, 5.0, 1.2));
    builder.push(&reading(DEW, 6.0, 80.0));
    builder.push(&reading(SPEED, 31.0, 1.4));
    assert_eq!(drain(&mut builder), []);
    builder.push(&reading(DEW, 32.0, 80.0));
    let windows = drain(&mut builder);
    assert_eq!(windows.len(), 1);
    assert_eq!(windows[0].band_speed, Some(MetrePerMinute(1.2)));
    // Dew point 80 °C at 101.325 kPa: 47.414 kPa of vapour (IAPWS-IF97), so 0.5470 kg/kg.
    let humidity = windows[0].zones[0].humidity.unwrap().0;
    assert!((humidity - 0.5470).abs() < 0.0001, "{humidity}");
}

#[test]
fn a_signal_that_is_behind_is_waited_for_only_so_long() {
    let mut builder = builder();
    builder.push(&reading(DEW, 5.0, 80.0));
    builder.push(&reading(SPEED, 5.0, 1.2));
    builder.push(&reading(SPEED, 49.0, 1.2));
    assert_eq!(drain(&mut builder), []);
    assert_eq!(builder.push(&reading(DEW, 29.0, 81.0)), Placed::InTime);
    builder.push(&reading(SPEED, 50.0, 1.2));
    assert_eq!(drain(&mut builder).len(), 1);
    assert_eq!(builder.push(&reading(DEW, 29.5, 81.0)), Placed::Late);
}

#[test]
fn a_product_sent_once_stands_and_a_number_grows_old() {
    let mut builder = builder();
    builder.push(&product(0, "T800"));
    builder.push(&reading(DEW, 1.0, 80.0));
    for second in (0..900).step_by(10) {
        builder.push(&reading(SPEED, f64::from(second), 1.2));
    }
    let windows = drain(&mut builder);
    let last = windows.last().unwrap();
    assert_eq!(last.product.as_deref(), Some("T800"));
    assert_eq!(last.zones[0].humidity, None);
    assert!(windows[5].zones[0].humidity.is_some());
}

#[test]
fn bad_and_uncertain_values_do_not_count_and_do_not_hold_the_window_up() {
    let mut builder = builder();
    builder.push(&Reading { quality: Quality::Bad, ..reading(SPEED, 5.0, 9.9) });
    builder.push(&reading(DEW, 5.0, 80.0));
    builder.push(&Reading { quality: Quality::Uncertain, ..reading(SPEED, 31.0, 9.9) });
    builder.push(&reading(DEW, 31.0, 80.0));
    let windows = drain(&mut builder);
    assert_eq!(windows[0].band_speed, None);
    assert!((windows[0].coverage - 1.0 / 3.0).abs() < 1e-12);
}

#[test]
fn a_bad_value_ends_the_one_before_it_until_the_next_good_one() {
    let mut builder = builder();
    builder.push(&reading(DEW, 5.0, 80.0));
    builder.push(&Reading { quality: Quality::Bad, ..reading(DEW, 35.0, 0.0) });
    builder.push(&reading(DEW, 95.0, 80.0));
    for second in (0..180).step_by(10) {
        builder.push(&reading(SPEED, f64::from(second), 1.2));
    }
    let windows = drain(&mut builder);
    let told: Vec<bool> = windows.iter().map(|window| window.zones[0].humidity.is_some()).collect();
    assert_eq!(told, [true, false, false, true, true]);
    let silent =
        |window: &Window| window.troubles.iter().find(|trouble| trouble.kind == TroubleKind::Silent).map(|it| it.since);
    assert_eq!(silent(&windows[2]), Some(Timestamp(35_000_000)));
    assert_eq!(silent(&windows[3]), None);
}

#[test]
fn a_dew_point_above_boiling_is_no_humidity() {
    let mut builder = builder();
    builder.push(&reading(DEW, 5.0, 120.0));
    assert_eq!(builder.close_next().unwrap().zones[0].humidity, None);
}

/// 25 °C and 50 % are 9.88 g/kg (ASHRAE's psychrometric chart no. 1, from memory).
#[test]
fn the_air_outside_is_known_by_temperature_and_humidity_together() {
    let (warmth, damp) = (SignalId(0), SignalId(1));
    let mut builder = builder_of(vec![
        signal(Quantity::AmbientTemperature, None),
        signal(Quantity::AmbientHumidity, None),
        signal(Quantity::DewPoint, Some(1)),
    ]);
    builder.push(&reading(warmth, 5.0, 25.0));
    assert_eq!(builder.clone().close_next().unwrap().ambient_humidity, None, "half of it says nothing");
    builder.push(&reading(damp, 5.0, 50.0));
    let humidity = builder.close_next().unwrap().ambient_humidity.unwrap();
    assert!((humidity.0 - 0.009_88).abs() < 1e-5, "{humidity:?}");
}

#[test]
fn a_silence_gives_no_windows() {
    let mut builder = builder();
    builder.push(&reading(SPEED, 5.0, 1.2));
    builder.push(&reading(SPEED, 7205.0, 1.2));
    let first = builder.close_next().unwrap();
    let second = builder.close_next().unwrap();
    assert_eq!(second.starts - first.starts, Span::seconds(7200));
    assert_eq!(builder.close_next(), None);
}

proptest! {
    /// Readings that come shuffled (by less than the lateness) and twice give the same windows.
    #[test]
    fn order_of_arrival_and_redelivery_change_nothing(delays in proptest::collection::vec(0.0..9.0_f64, 200)) {
        let readings: Vec<Reading> = (0..200)
            .map(|i| reading(if i % 2 == 0 { SPEED } else { DEW }, f64::from(i) * 5.0, 20.0 + f64::from(i % 7)))
            .collect();
        let windows = |order: &[Reading]| {
            let mut builder = builder();
            let mut windows = Vec::new();
            for reading in order {
                builder.push(reading);
                windows.extend(std::iter::from_fn(|| builder.next_closed()));
            }
            windows.extend(std::iter::from_fn(|| builder.close_next()));
            windows
        };
        let mut shuffled: Vec<(f64, Reading)> =
            readings.iter().zip(&delays).map(|(reading, delay)| (reading.time.0 as f64 / 1e6 + delay, reading.clone())).collect();
        shuffled.sort_by(|a, b| a.0.total_cmp(&b.0));
        let arrived: Vec<Reading> = shuffled.into_iter().flat_map(|(_, reading)| [reading.clone(), reading]).collect();
        prop_assert_eq!(windows(&readings), windows(&arrived));
    }

    /// Series of stored readings, taken in two parts, give the same windows as the readings one by one in order of time.
    #[test]
    fn series_give_the_windows_of_their_readings(
        mut drawn in proptest::collection::vec((0..3_u32, 0..4000_i64, 0..3_u8, 0..40_i32), 0..300),
        cut in 0..140_i64
    ) {
        drawn.sort_by_key(|(signal, second, ..)| (*second, *signal));
        drawn.dedup_by_key(|(signal, second, ..)| (*second, *signal));
        let readings: Vec<Reading> = drawn
            .iter()
            .map(|&(signal, second, quality, value)| {
                let quality = Quality::from_code(quality.saturating_mul(96).saturating_add(63));
                let reading = match signal {
                    1 => product(second, if value < 20 { "T800" } else { "B400" }),
                    _ => reading(SignalId(signal), second as f64, f64::from(value)),
                };
                Reading { quality, ..reading }
            })
            .collect();
        let mut pushed = builder();
        let mut windows = Vec::new();
        for reading in &readings {
            pushed.push(reading);
            windows.extend(std::iter::from_fn(|| pushed.next_closed()));
        }
        let (mut laid, mut of_series) = (builder(), Vec::new());
        let (early, late): (Vec<Reading>, Vec<Reading>) =
            readings.into_iter().partition(|reading| reading.time < Timestamp(0) + Span::seconds(30 * cut));
        for part in [early, late] {
            of_series.extend(laid.lay(&part.into_iter().collect()));
        }
        windows.extend(std::iter::from_fn(|| pushed.close_next()));
        of_series.extend(std::iter::from_fn(|| laid.close_next()));
        prop_assert_eq!(windows, of_series);
    }
}

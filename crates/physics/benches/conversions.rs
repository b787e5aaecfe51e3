//! States per second, on one core: the conversions that every reading passes through, and the
//! dearer ones beside them. Read the right-hand figure of each line: items are states.
#![allow(missing_docs)]

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use physics::air::{MoistAir, dew_point_from_humidity_ratio, humidity_ratio_from_dew_point};
use physics::dough::Dough;
use physics::surface::{Grid, Piece, Stage, expose};
use physics::units::{Celsius, HumidityRatio, Metre, Pascal, Seconds, WattPerSquareMetreKelvin};

const STATES: usize = 4096;
const SEA_LEVEL: Pascal = Pascal(101_325.0);

fn main() {
    divan::main();
}

/// Dew points over an oven's range, 20 to 95 °C, in no order.
fn dew_points() -> Vec<Celsius> {
    (0..STATES).map(|i| Celsius(20.0 + 75.0 * ((i * 1103) % STATES) as f64 / STATES as f64)).collect()
}

fn humidity_ratios() -> Vec<HumidityRatio> {
    dew_points()
        .into_iter()
        .map(|dew_point| humidity_ratio_from_dew_point(dew_point, SEA_LEVEL).unwrap_or(HumidityRatio(0.0)))
        .collect()
}

#[divan::bench]
fn dew_point_to_humidity_ratio(bencher: Bencher) {
    let dew_points = dew_points();
    bencher.counter(ItemsCount::new(STATES)).bench_local(|| {
        let mut sum = 0.0;
        for &dew_point in black_box(&dew_points) {
            sum += humidity_ratio_from_dew_point(dew_point, SEA_LEVEL).map_or(0.0, |ratio| ratio.0);
        }
        sum
    });
}

#[divan::bench]
fn humidity_ratio_to_dew_point(bencher: Bencher) {
    let ratios = humidity_ratios();
    bencher.counter(ItemsCount::new(STATES)).bench_local(|| {
        let mut sum = 0.0;
        for &ratio in black_box(&ratios) {
            sum += dew_point_from_humidity_ratio(ratio, SEA_LEVEL).map_or(0.0, |dew_point| dew_point.0);
        }
        sum
    });
}

#[divan::bench]
fn dew_point_to_humidity_ratio_and_back(bencher: Bencher) {
    let dew_points = dew_points();
    bencher.counter(ItemsCount::new(STATES)).bench_local(|| {
        let mut sum = 0.0;
        for &dew_point in black_box(&dew_points) {
            sum += humidity_ratio_from_dew_point(dew_point, SEA_LEVEL)
                .and_then(|ratio| dew_point_from_humidity_ratio(ratio, SEA_LEVEL))
                .map_or(0.0, |dew_point| dew_point.0);
        }
        sum
    });
}

#[divan::bench]
fn wet_bulb(bencher: Bencher) {
    let air = MoistAir::from_dew_point(Celsius(220.0), Celsius(80.0), SEA_LEVEL);
    bencher.counter(ItemsCount::new(1_usize)).bench_local(|| black_box(air).map(|air| air.wet_bulb()));
}

#[divan::bench]
fn thirty_seconds_of_surface(bencher: Bencher) {
    let stage = MoistAir::from_dew_point(Celsius(180.0), Celsius(85.0), SEA_LEVEL).map(|air| Stage {
        air,
        radiant: Celsius(200.0),
        convection: WattPerSquareMetreKelvin(25.0),
        duration: Seconds(30.0),
    });
    let piece = Dough::lean(0.43, 0.6).and_then(|dough| Piece::of_dough(&dough, Celsius(32.0), Metre(0.03)));
    bencher.counter(ItemsCount::new(1_usize)).bench_local(|| expose(&black_box(piece)?, &[stage?], Grid::default()));
}

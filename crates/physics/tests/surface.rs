//! The surface model against an exact solution, its own balance, finer grids and common sense.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use physics::air::MoistAir;
use physics::dough::Dough;
use physics::surface::{Exposure, Grid, Piece, Stage, expose};
use physics::units::{Celsius, Metre, MoistureFraction, Pascal, Seconds, WattPerMetreKelvin, WattPerSquareMetreKelvin};
use proptest::prelude::*;

const SEA_LEVEL: Pascal = Pascal(101_325.0);

fn dough() -> Piece {
    Piece::of_dough(&Dough::lean(0.43, 0.6).unwrap(), Celsius(32.0), Metre(0.03)).unwrap()
}

fn steamed(dew_point: f64, seconds: f64) -> Stage {
    Stage {
        air: MoistAir::from_dew_point(Celsius(180.0), Celsius(dew_point), SEA_LEVEL).unwrap(),
        radiant: Celsius(200.0),
        convection: WattPerSquareMetreKelvin(25.0),
        duration: Seconds(seconds),
    }
}

/// exp(x²) erfc(x), by Simpson's rule over its integral 2/√π ∫ exp(−t² − 2xt) dt.
fn scaled_erfc(x: f64) -> f64 {
    let (end, parts) = (8.0, 4000);
    let width = end / f64::from(parts);
    let value = |i: i32| {
        let t = f64::from(i) * width;
        (-t * t - 2.0 * x * t).exp()
    };
    let inner: f64 = (1..parts).map(|i| if i % 2 == 1 { 4.0 } else { 2.0 } * value(i)).sum();
    2.0 / std::f64::consts::PI.sqrt() * width / 3.0 * (value(0) + inner + value(parts))
}

/// Carslaw and Jaeger, Conduction of Heat in Solids (1959), section 2.7: a semi-infinite solid,
/// at one temperature before, heated by convection.
fn semi_infinite(piece: &Piece, air: f64, convection: f64, depth: f64, time: f64) -> f64 {
    let diffusion = (piece.conductivity.0 / piece.heat_capacity * time).sqrt();
    let reach = depth / (2.0 * diffusion);
    let biot = convection * diffusion / piece.conductivity.0;
    let share = (-reach * reach).exp() * (scaled_erfc(reach) - scaled_erfc(reach + biot));
    piece.temperature.0 + share * (air - piece.temperature.0)
}

#[test]
fn dry_heating_is_that_of_a_semi_infinite_solid() {
    let piece = Piece {
        conductivity: WattPerMetreKelvin(0.16),
        heat_capacity: 1.36e6,
        depth: Metre(0.03),
        temperature: Celsius(30.0),
        emissivity: 0.0,
    };
    let air = MoistAir::from_moisture(Celsius(200.0), MoistureFraction(0.0), SEA_LEVEL).unwrap();
    let convection = WattPerSquareMetreKelvin(25.0);
    let stage = Stage { air, radiant: Celsius(200.0), convection, duration: Seconds(60.0) };
    let exposure = expose(&piece, &[stage], Grid::default()).unwrap();
    let mut largest: f64 = 0.0;
    for (time, surface) in exposure.surface.iter().filter(|(time, _)| time.0 >= 1.0) {
        largest = largest.max((surface.0 - semi_infinite(&piece, 200.0, 25.0, 0.0, time.0)).abs());
    }
    for (depth, temperature) in exposure.profile.iter().filter(|(depth, _)| depth.0 < 0.015) {
        largest = largest.max((temperature.0 - semi_infinite(&piece, 200.0, 25.0, depth.0, 60.0)).abs());
    }
    println!("dry case: largest deviation from the semi-infinite solid {largest:.4} K of 170 K");
    assert!(largest < 0.05, "{largest} K");
    assert_eq!((exposure.condensate.0, exposure.wetted.0, exposure.film.0), (0.0, 0.0, 0.0));
}

type Figure = (&'static str, fn(&Exposure) -> f64);

#[test]
fn finer_grids_converge_with_the_second_order() {
    let run = |level: i32| {
        let grid = Grid { cells: 20 << level, step: Seconds(0.4 / 4_f64.powi(level)) };
        expose(&dough(), &[steamed(85.0, 20.0)], grid).unwrap()
    };
    let runs: Vec<Exposure> = (0..5).map(run).collect();
    let figures: [Figure; 3] = [
        ("wetted time, s", |exposure| exposure.wetted.0),
        ("condensate, kg/m2", |exposure| exposure.condensate.0),
        ("heat in the dough, J/m2", |exposure| exposure.balance.in_dough.0),
    ];
    for (name, figure) in figures {
        let values: Vec<f64> = runs.iter().map(figure).collect();
        let last = &values[values.len() - 3..];
        let order = ((last[0] - last[1]) / (last[1] - last[2])).abs().log2();
        println!("{name}: {values:.6?}, order {order:.2}");
        assert!((1.8..2.3).contains(&order), "{name}: order {order}");
    }
    let default = expose(&dough(), &[steamed(85.0, 20.0)], Grid::default()).unwrap();
    let finest = &runs[4];
    assert!((default.condensate.0 / finest.condensate.0 - 1.0).abs() < 2e-3);
    assert!((default.wetted.0 - finest.wetted.0).abs() < 0.02);
}

#[test]
fn a_film_that_dries_takes_its_heat_along() {
    let steam = steamed(85.0, 8.0);
    let dry = steamed(30.0, 60.0);
    let exposure = expose(&dough(), &[steam, dry], Grid::default()).unwrap();
    assert_eq!(exposure.film.0, 0.0);
    assert!((exposure.balance.evaporated.0 / exposure.condensate.0 - 1.0).abs() < 1e-9);
    // While the film dries the surface stays far below that of a piece that was never wet.
    let never_wet = expose(&dough(), &[steamed(30.0, 8.0), dry], Grid::default()).unwrap();
    let at = |exposure: &Exposure, wanted: f64| {
        exposure.surface.iter().find(|(time, _)| time.0 >= wanted).map(|(_, surface)| surface.0).unwrap()
    };
    assert!(at(&exposure, 8.0) > at(&never_wet, 8.0) + 10.0);
    assert!(at(&exposure, 40.0) < at(&never_wet, 40.0) + 5.0);
}

#[test]
fn a_surface_that_has_dried_is_warmed_by_the_dough_below_it() {
    let air = |temperature, moisture, pressure| {
        MoistAir::from_moisture(Celsius(temperature), MoistureFraction(moisture), Pascal(pressure)).unwrap()
    };
    let convection = WattPerSquareMetreKelvin(50.0);
    let steam = Stage { air: air(260.0, 0.48, 91_800.0), radiant: Celsius(155.0), convection, duration: Seconds(4.4) };
    let cold = Stage {
        air: air(20.0, 0.0015, 70_000.0),
        radiant: Celsius(20.0),
        convection: WattPerSquareMetreKelvin(115.0),
        duration: Seconds(15.0),
    };
    let exposure = expose(&dough(), &[steam, cold], Grid { cells: 40, step: Seconds(0.05) }).unwrap();
    assert_eq!(exposure.film.0, 0.0, "the film has dried");
    assert!(exposure.balance.energy_gap().abs() < 1e-9, "{:?}", exposure.balance);
}

#[test]
fn only_steam_above_77_degc_dew_point_gelatinises_a_wet_surface() {
    let at = |dew_point| expose(&dough(), &[steamed(dew_point, 20.0)], Grid::default()).unwrap();
    assert!(!at(75.0).gelatinised_while_wet);
    assert!(at(80.0).gelatinised_while_wet);
    assert!(at(90.0).gelatinised.unwrap() < at(80.0).gelatinised.unwrap());
}

#[test]
fn nonsense_is_an_error_with_its_name() {
    let quantity = |piece: &Piece, stage, grid| expose(piece, &[stage], grid).unwrap_err().quantity;
    let (piece, stage, grid) = (dough(), steamed(80.0, 10.0), Grid::default());
    assert_eq!(quantity(&Piece { depth: Metre(0.0), ..piece }, stage, grid), "dough depth");
    assert_eq!(quantity(&Piece { emissivity: f64::NAN, ..piece }, stage, grid), "emissivity");
    assert_eq!(quantity(&piece, Stage { radiant: Celsius(f64::INFINITY), ..stage }, grid), "radiant temperature");
    assert_eq!(quantity(&piece, Stage { duration: Seconds(-1.0), ..stage }, grid), "duration of a stage");
    assert_eq!(quantity(&piece, stage, Grid { cells: 1, ..grid }), "number of cells");
    assert_eq!(quantity(&piece, stage, Grid { step: Seconds(1e-9), ..grid }), "time step over duration");
    assert_eq!(quantity(&piece, stage, Grid { step: Seconds(f64::NAN), ..grid }), "time step over duration");
}

fn any_stage() -> impl Strategy<Value = Stage> {
    (20.0..300.0, 0.0..1.0, 20.0..350.0, 1.0..120.0, 0.1..20.0, 70e3..110e3).prop_map(
        |(temperature, share, radiant, convection, duration, pressure): (f64, f64, f64, f64, f64, f64)| {
            let highest = temperature.min(physics::saturation::temperature(Pascal(pressure)).unwrap().0 - 0.5);
            let dew_point = Celsius(-20.0 + share * (highest + 20.0));
            Stage {
                air: MoistAir::from_dew_point(Celsius(temperature), dew_point, Pascal(pressure)).unwrap(),
                radiant: Celsius(radiant),
                convection: WattPerSquareMetreKelvin(convection),
                duration: Seconds(duration),
            }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn energy_and_mass_close(stages in proptest::collection::vec(any_stage(), 1..4)) {
        let exposure = expose(&dough(), &stages, Grid { cells: 40, step: Seconds(0.05) }).unwrap();
        prop_assert!(exposure.balance.energy_gap().abs() < 1e-3, "energy: {:?}", exposure.balance);
        let left = exposure.condensate.0 - exposure.balance.evaporated.0;
        prop_assert!((left - exposure.film.0).abs() <= 1e-3 * exposure.condensate.0 + 1e-15, "mass: {exposure:?}");
        prop_assert!(exposure.film.0 >= 0.0);
    }

    #[test]
    fn drier_air_wets_less_and_for_a_shorter_time(
        wetter in 40.0..98.0, share in 0.0..0.95, convection in 10.0..80.0,
    ) {
        let drier = 33.0 + share * (wetter - 33.0);
        let run = |dew_point: f64| {
            let stage = Stage { convection: WattPerSquareMetreKelvin(convection), ..steamed(dew_point, 30.0) };
            expose(&dough(), &[stage], Grid { cells: 40, step: Seconds(0.05) }).unwrap()
        };
        let (wet, dry) = (run(wetter), run(drier));
        prop_assert!(dry.condensate < wet.condensate, "{:?} {:?}", dry.condensate, wet.condensate);
        prop_assert!(dry.wetted <= wet.wetted, "{:?} {:?}", dry.wetted, wet.wetted);
    }
}

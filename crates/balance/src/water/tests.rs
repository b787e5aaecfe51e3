use physics::air::{MoistAir, exhaust};
use physics::units::{MoistureFraction, Pascal};

use super::*;
use crate::DryingCurve;

fn parameters(zones: usize) -> Parameters {
    Parameters {
        drying: DryingCurve { shape: 2.0, scale_min: 9.6 },
        exchange_kg_h: 50.0,
        steam_into_zone_2: 0.2,
        wall_kw_per_m: 1.5,
        usual: vec![Celsius(230.0); zones],
    }
}

fn settings(zones: usize) -> Settings {
    Settings { exhaust_kg_h: vec![300.0; zones], temperatures: vec![Celsius(230.0); zones], steam_kg_h: 180.0 }
}

const LOAF: Bake = Bake { dough_kg_per_m: 13.0, bake_loss: 0.105, bake_time_min: 24.0, dough_moisture: 0.42 };

/// What enters the zones leaves with their exhaust, to the last gram.
#[test]
fn water_is_conserved_zone_by_zone_and_in_all() {
    let oven = Oven::direct(vec![7.0; 4]);
    let parameters = parameters(4);
    let zones = WaterBalance::new(&oven, &LOAF, &parameters, Ambient::HALL).unwrap().solve(1.3, &settings(4));
    let mut exchanged = 0.0;
    for zone in &zones {
        let out = zone.exhaust_kg_h * (zone.humidity.0 - Ambient::HALL.humidity.0);
        let in_ = zone.evaporation_kg_h + zone.steam_kg_h + zone.combustion_kg_h + zone.exchange_kg_h;
        assert!((out - in_).abs() < 1e-9 * out, "{zone:?}");
        exchanged += zone.exchange_kg_h;
    }
    assert!(exchanged.abs() < 1e-9, "what one zone gives the next one gains: {exchanged}");
}

#[test]
fn the_exhaust_that_holds_a_humidity_is_found_back() {
    let oven = Oven::direct(vec![7.0; 4]);
    let parameters = parameters(4);
    let balance = WaterBalance::new(&oven, &LOAF, &parameters, Ambient::HALL).unwrap();
    let settings = Settings { exhaust_kg_h: vec![380.0, 600.0, 420.0, 250.0], ..settings(4) };
    let humidity: Vec<_> = balance.solve(1.3, &settings).iter().map(|zone| zone.humidity).collect();
    let found = balance.exhaust_to_hold(1.3, &humidity, &settings.temperatures, settings.steam_kg_h, 1.0);
    for (found, set) in found.iter().zip(&settings.exhaust_kg_h) {
        assert!((found - set).abs() < 1e-6, "{found} for {set}");
    }
}

/// A faster band evaporates more in all, and moves the drying down the oven: most of it into the late zones.
#[test]
fn a_faster_band_carries_moisture_past_zone_2() {
    let oven = Oven::direct(vec![7.0; 4]);
    let parameters = parameters(4);
    let balance = WaterBalance::new(&oven, &LOAF, &parameters, Ambient::HALL).unwrap();
    let (usual, fast) = (balance.solve(1.17, &settings(4)), balance.solve(1.40, &settings(4)));
    let rise = |zone: usize| fast[zone].humidity.0 / usual[zone].humidity.0;
    assert!(rise(2) > 1.2 && rise(3) > 1.2 && rise(2) > rise(1) && rise(1) > rise(0), "{} {}", rise(1), rise(2));
}

#[test]
fn hotter_zones_dry_earlier() {
    let oven = Oven::indirect(vec![7.0; 4]);
    let parameters = parameters(4);
    let balance = WaterBalance::new(&oven, &LOAF, &parameters, Ambient::HALL).unwrap();
    let at = |celsius| balance.evaporation_kg_h(1.17, &[Celsius(celsius); 4]);
    let (usual, hot) = (at(230.0), at(243.0));
    assert!(hot[0] > usual[0] && hot[3] < usual[3], "{usual:?} {hot:?}");
}

/// The heat of the exhaust against the enthalpies of `physics`, over the oven's range.
#[test]
fn the_exhaust_carries_what_the_enthalpies_say() {
    let oven = Oven::indirect(vec![7.0]);
    let parameters = parameters(1);
    let balance = WaterBalance::new(&oven, &LOAF, &parameters, Ambient::HALL).unwrap();
    let pressure = Pascal(101_325.0);
    let hall = MoistAir::from_humidity_ratio(Celsius(25.0), Ambient::HALL.humidity, pressure).unwrap();
    for celsius in [180.0, 220.0, 260.0] {
        for moisture in [0.05, 0.2, 0.45] {
            let air = MoistAir::from_moisture(Celsius(celsius), MoistureFraction(moisture), pressure).unwrap();
            let each = exhaust::per_water(&air, &hall).unwrap();
            let vapour = MoistAir::from_moisture(Celsius(97.0), MoistureFraction(0.8), pressure).unwrap();
            let dry = MoistAir::from_moisture(Celsius(97.0), MoistureFraction(0.0), pressure).unwrap();
            let vapour_at_97 = (vapour.enthalpy().0 - dry.enthalpy().0) / vapour.humidity_ratio().0;
            let expected = (each.heat.0 - vapour_at_97) / each.dry_air / 3.6e6;
            let carried = balance.carried(Celsius(celsius));
            let found = carried.fixed + carried.per_humidity * air.humidity_ratio().0;
            assert!((found / expected - 1.0).abs() < 0.012, "{celsius} {moisture}: {found} for {expected}");
        }
    }
}

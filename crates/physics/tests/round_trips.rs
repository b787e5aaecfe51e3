//! Dew point, moisture, humidity ratio and vapour pressure undo each other and rise together.
#![allow(missing_docs, clippy::unwrap_used)]

use physics::air::*;
use physics::saturation;
use physics::units::{Celsius, Pascal};
use proptest::prelude::*;

const RELATIVE: f64 = 1e-9;

fn same(found: f64, wanted: f64) -> bool {
    // The absolute part is what a temperature near 0 degC keeps of its 273 K.
    (found - wanted).abs() <= RELATIVE * wanted.abs() + 1e-11
}

/// A dew point of −40 to 100 °C that air of 60 to 110 kPa can have.
fn dew_point_and_pressure() -> impl Strategy<Value = (Celsius, Pascal)> {
    (60e3..110e3, 0.0..1.0).prop_map(|(pressure, share): (f64, f64)| {
        let highest = saturation::temperature(Pascal(pressure)).unwrap().0.min(100.0) - 1e-3;
        (Celsius(-40.0 + share * (highest + 40.0)), Pascal(pressure))
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_round_trip_returns((dew_point, pressure) in dew_point_and_pressure()) {
        let moisture = moisture_from_dew_point(dew_point, pressure).unwrap();
        let ratio = humidity_ratio_from_moisture(moisture).unwrap();
        let vapour = vapour_pressure_from_moisture(moisture, pressure).unwrap();

        prop_assert!(same(saturation::temperature(vapour).unwrap().0, dew_point.0));
        prop_assert!(same(dew_point_from_moisture(moisture, pressure).unwrap().0, dew_point.0));
        prop_assert!(same(dew_point_from_humidity_ratio(ratio, pressure).unwrap().0, dew_point.0));
        prop_assert!(same(moisture_from_humidity_ratio(ratio).unwrap().0, moisture.0));
        prop_assert!(same(moisture_from_vapour_pressure(vapour, pressure).unwrap().0, moisture.0));
        prop_assert!(same(humidity_ratio_from_dew_point(dew_point, pressure).unwrap().0, ratio.0));
        prop_assert!(same(saturation::pressure(dew_point).unwrap().0 / vapour.0, 1.0));
    }

    #[test]
    fn all_four_rise_together((dew_point, pressure) in dew_point_and_pressure(), step in 1e-8..1e-3_f64) {
        let lower = Celsius(dew_point.0 - step);
        let moistures = [lower, dew_point].map(|dew_point| moisture_from_dew_point(dew_point, pressure).unwrap());
        let ratios = moistures.map(|moisture| humidity_ratio_from_moisture(moisture).unwrap());
        let vapours = moistures.map(|moisture| vapour_pressure_from_moisture(moisture, pressure).unwrap());
        let back = moistures.map(|moisture| dew_point_from_moisture(moisture, pressure).unwrap());
        prop_assert!(moistures[0] < moistures[1]);
        prop_assert!(ratios[0] < ratios[1]);
        prop_assert!(vapours[0] < vapours[1]);
        prop_assert!(back[0] < back[1]);
    }

    #[test]
    fn saturation_rises_over_its_whole_range(share in 0.0..1.0_f64, step in 1e-7..1e-3_f64) {
        let celsius = -99.99 + share * (373.946 + 99.99);
        let at = |celsius: f64| saturation::pressure(Celsius(celsius)).unwrap();
        prop_assert!(at(celsius - step) < at(celsius));
        let back = |celsius: f64| saturation::temperature(at(celsius)).unwrap();
        prop_assert!(back(celsius - step) < back(celsius));
    }

    #[test]
    fn wet_bulb_lies_between_dew_point_and_dry_bulb(
        temperature in 20.0..350.0_f64, share in 0.0..1.0_f64, pressure in 60e3..110e3_f64,
    ) {
        let boiling = saturation::temperature(Pascal(pressure)).unwrap().0;
        let highest = temperature.min(boiling - 1e-3);
        let dew_point = -40.0 + share * (highest + 40.0);
        let at = |dew_point: f64, temperature: f64| {
            MoistAir::from_dew_point(Celsius(temperature), Celsius(dew_point), Pascal(pressure)).unwrap().wet_bulb().0
        };
        let wet_bulb = at(dew_point, temperature);
        prop_assert!(wet_bulb >= dew_point - 1e-9 && wet_bulb <= temperature + 1e-9 && wet_bulb < boiling);
        prop_assert!(at(dew_point, temperature + 1.0) > wet_bulb);
        prop_assert!(at(dew_point - 0.1, temperature) < wet_bulb + 1e-9);
    }
}

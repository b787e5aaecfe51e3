//! Dew point, moisture, humidity ratio and vapour pressure undo each other, rise together, and
//! refuse what is out of range.
#![allow(missing_docs, clippy::unwrap_used)]

use physics::OutOfRange;
use physics::air::*;
use physics::saturation;
use physics::units::{Celsius, HumidityRatio, Metre, MoistureFraction, Pascal};
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

    #[test]
    fn nothing_panics_and_nothing_but_numbers_comes_out(a in any_number(), b in any_number(), c in any_number()) {
        let finite = |result: Result<f64, OutOfRange>| match result {
            Ok(value) => value.is_finite(),
            Err(error) => !(error.low..error.high).contains(&error.value) && !error.quantity.is_empty(),
        };
        prop_assert!(finite(saturation::pressure(Celsius(a)).map(|x| x.0)));
        prop_assert!(finite(saturation::temperature(Pascal(a)).map(|x| x.0)));
        prop_assert!(finite(station_pressure(Metre(a)).map(|x| x.0)));
        prop_assert!(finite(moisture_from_dew_point(Celsius(a), Pascal(b)).map(|x| x.0)));
        prop_assert!(finite(dew_point_from_moisture(MoistureFraction(a), Pascal(b)).map(|x| x.0)));
        prop_assert!(finite(humidity_ratio_from_moisture(MoistureFraction(a)).map(|x| x.0)));
        prop_assert!(finite(moisture_from_humidity_ratio(HumidityRatio(a)).map(|x| x.0)));
        prop_assert!(finite(vapour_pressure_from_moisture(MoistureFraction(a), Pascal(b)).map(|x| x.0)));
        prop_assert!(finite(moisture_from_vapour_pressure(Pascal(a), Pascal(b)).map(|x| x.0)));
        for air in [
            MoistAir::from_dew_point(Celsius(a), Celsius(b), Pascal(c)),
            MoistAir::from_moisture(Celsius(a), MoistureFraction(b), Pascal(c)),
            MoistAir::from_humidity_ratio(Celsius(a), HumidityRatio(b), Pascal(c)),
        ] {
            prop_assert!(finite(air.map(|air| air.enthalpy().0 + air.wet_bulb().0 + air.specific_volume().0)));
        }
    }
}

/// Any float at all, and as often one that an oven could send.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![any::<f64>(), -120.0..400.0, 0.0..1.0, 1e4..2e5, Just(f64::NAN), Just(0.0), Just(1.0)]
}

//! No number panics, no range error is a lie, and nothing but finite numbers comes out.
#![allow(missing_docs)]

use physics::OutOfRange;
use physics::air::*;
use physics::combustion::{Component, Fuel, HeatBasis};
use physics::dough::Dough;
use physics::saturation;
use physics::steam;
use physics::steam::injection::exposure;
use physics::steam::nozzle::{Nozzle, Supply};
use physics::steam::valve::{Characteristic, Valve};
use physics::surface::{Grid, Piece, Stage, expose};
use physics::units::*;
use proptest::prelude::*;

/// Whether the answer is a number, or an error about a value that is outside the range it names.
fn sound(result: Result<f64, OutOfRange>) -> bool {
    match result {
        Ok(value) => value.is_finite(),
        Err(error) => !(error.low..error.high).contains(&error.value) && !error.quantity.is_empty(),
    }
}

/// Any float at all, and as often one that an oven could send.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![any::<f64>(), -120.0..400.0, 0.0..1.0, 1e4..2e7, Just(f64::NAN), Just(0.0), Just(1.0)]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn of_air(a in any_number(), b in any_number(), c in any_number()) {
        prop_assert!(sound(saturation::pressure(Celsius(a)).map(|x| x.0)));
        prop_assert!(sound(saturation::temperature(Pascal(a)).map(|x| x.0)));
        prop_assert!(sound(station_pressure(Metre(a)).map(|x| x.0)));
        prop_assert!(sound(moisture_from_dew_point(Celsius(a), Pascal(b)).map(|x| x.0)));
        prop_assert!(sound(dew_point_from_moisture(MoistureFraction(a), Pascal(b)).map(|x| x.0)));
        prop_assert!(sound(humidity_ratio_from_moisture(MoistureFraction(a)).map(|x| x.0)));
        prop_assert!(sound(moisture_from_humidity_ratio(HumidityRatio(a)).map(|x| x.0)));
        prop_assert!(sound(vapour_pressure_from_moisture(MoistureFraction(a), Pascal(b)).map(|x| x.0)));
        prop_assert!(sound(moisture_from_vapour_pressure(Pascal(a), Pascal(b)).map(|x| x.0)));
        for air in [
            MoistAir::from_dew_point(Celsius(a), Celsius(b), Pascal(c)),
            MoistAir::from_moisture(Celsius(a), MoistureFraction(b), Pascal(c)),
            MoistAir::from_humidity_ratio(Celsius(a), HumidityRatio(b), Pascal(c)),
        ] {
            prop_assert!(sound(air.map(|air| air.enthalpy().0 + air.wet_bulb().0 + air.specific_volume().0)));
        }
    }

    #[test]
    fn of_steam(a in any_number(), b in any_number(), c in any_number()) {
        let sum = |state: steam::State| state.volume.0 + state.enthalpy.0 + state.entropy.0 + state.sound_speed.0;
        prop_assert!(sound(steam::liquid(Celsius(a), Pascal(b)).map(sum)));
        prop_assert!(sound(steam::vapour(Celsius(a), Pascal(b)).map(sum)));
        prop_assert!(sound(steam::saturated(Pascal(a)).map(|both| sum(both.liquid) + sum(both.vapour))));
        prop_assert!(sound(steam::latent_heat(Celsius(a)).map(|heat| heat.0)));
        prop_assert!(sound(exposure(Metre(a), MetrePerMinute(b)).map(|time| time.0)));
        for supply in [Supply::saturated(Pascal(a), b), Supply::superheated(Pascal(a), Celsius(b))] {
            let nozzle = Nozzle::from_bore(Metre(0.01), c).or(Nozzle::from_bore(Metre(c), 0.6));
            let valve = Valve::from_kv(c, 0.7).or(Valve::from_cv(1.0, c));
            let through_nozzle = supply.and_then(|supply| Ok(nozzle?.flow(&supply, Pascal(c))?.mass_flow.0));
            let through_valve = supply
                .and_then(|supply| Ok(valve?.flow(&supply, Pascal(c), b, Characteristic::EqualPercentage)?.0));
            prop_assert!(sound(through_nozzle), "{through_nozzle:?}");
            prop_assert!(sound(through_valve), "{through_valve:?}");
        }
    }

    #[test]
    fn of_gas_and_dough(a in any_number(), b in any_number(), c in any_number()) {
        let gas = Fuel::from_analysis(&[(Component::Methane, a), (Component::Hydrogen, b), (Component::Nitrogen, c)]);
        prop_assert!(sound(gas.map(|gas| gas.heat(HeatBasis::Net).0 + gas.water(HeatBasis::Gross).0)));
        let flue = Fuel::methane().burn(a, HumidityRatio(b));
        prop_assert!(sound(flue.map(|flue| flue.wet_volume() + flue.moisture().0)));
        prop_assert!(sound(flue.and_then(|flue| Ok(flue.heat(Celsius(b), Celsius(c))?.0))));
        prop_assert!(sound(Fuel::methane().excess_air_from_dry_oxygen(a)));
        prop_assert!(sound(Fuel::methane().excess_air_from_wet_oxygen(a, HumidityRatio(b))));
        let dough = Dough::lean(a, b);
        prop_assert!(sound(dough.and_then(|dough| Ok(dough.conductivity(Celsius(c))?.0))));
        prop_assert!(sound(dough.and_then(|dough| Ok(dough.least_heat(Celsius(b), Celsius(c), a)?.evaporation.0))));
    }

    #[test]
    fn of_the_surface(a in any_number(), b in any_number(), c in any_number(), moisture in 0.0..1.0_f64) {
        let piece = Piece {
            conductivity: WattPerMetreKelvin(0.16),
            heat_capacity: 1.36e6,
            depth: Metre(b),
            temperature: Celsius(c),
            emissivity: 0.9,
        };
        let air = MoistAir::from_moisture(Celsius(180.0), MoistureFraction(moisture), Pascal(101_325.0));
        let stage = air.map(|air| Stage {
            air,
            radiant: Celsius(a),
            convection: WattPerSquareMetreKelvin(b),
            duration: Seconds(5.0),
        });
        let grid = Grid { cells: 10, step: Seconds(0.5) };
        let exposure = stage.and_then(|stage| expose(&piece, &[stage], grid));
        prop_assert!(sound(exposure.clone().map(|it| it.condensate.0 + it.balance.in_dough.0)), "{exposure:?}");
    }
}

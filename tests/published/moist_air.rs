//! `dew_to_moisture.csv` and `moist_air_oven.csv`: the ideal mixture over IF97 saturation, the real
//! mixture of CoolProp 8.0.0 (HAPropsSI), and psychrolib 2.5.0 where it holds.

use crate::table::{Column, Row, Table};
use physics::air::*;
use physics::units::{Celsius, HumidityRatio, Metre, Pascal};

fn oven() -> Table {
    Table::parse(include_str!("moist_air_oven.csv"))
}

fn air_of(row: &Row<'_>) -> MoistAir {
    let [temperature, dew_point] = ["t_dry_C", "t_dew_C"].map(|column| Celsius(row.number(column)));
    MoistAir::from_dew_point(temperature, dew_point, Pascal(row.number("P_Pa"))).unwrap()
}

#[test]
fn pressure_follows_elevation() {
    let mut pressure = Column::within("P_Pa", 1e-6);
    for row in Table::parse(include_str!("dew_to_moisture.csv")).rows() {
        pressure.check(&row, station_pressure(Metre(row.number("altitude_m"))).unwrap().0);
    }
}

#[test]
fn dew_point_gives_moisture_and_humidity_ratio() {
    let mut vapour = Column::within("pv_Pa", 1e-4);
    let mut moisture = Column::within("moisture_volpct", 5e-4);
    let mut ratio = Column::within("W_kgkg", 5e-4);
    let mut by_mass = Column::within("moisture_masspct_wet", 5e-4);
    let mut dew_point = Column::within_absolute("t_dew_C", 1e-3);
    let mut real_moisture = Column::within_absolute("volpct_coolprop", 0.3);
    for row in Table::parse(include_str!("dew_to_moisture.csv")).rows() {
        let pressure = Pascal(row.number("P_Pa"));
        let x = moisture_from_dew_point(Celsius(row.number("t_dew_C")), pressure).unwrap();
        let w = humidity_ratio_from_moisture(x).unwrap();
        vapour.check(&row, vapour_pressure_from_moisture(x, pressure).unwrap().0);
        moisture.check(&row, 100.0 * x.0);
        real_moisture.check(&row, 100.0 * x.0);
        ratio.check(&row, w.0);
        by_mass.check(&row, 100.0 * w.0 / (1.0 + w.0));
        dew_point.check(&row, dew_point_from_humidity_ratio(w, pressure).unwrap().0);
    }
}

#[test]
fn the_whole_state_follows_the_ideal_mixture() {
    let mut vapour = Column::within("pv_Pa", 5e-4);
    let mut moisture = Column::within("moisture_volpct", 5e-4);
    let mut ratio = Column::within("W_kgkg", 5e-4);
    let mut enthalpy = Column::within("h_ref_kJkgda", 5e-4);
    let mut density = Column::within("rho_ideal_kgm3", 5e-4);
    let mut volume = Column::within("v_ideal_m3_per_kgda", 5e-4);
    let mut wet_bulb = Column::within_absolute("twb_ref_C", 0.1);
    for row in oven().rows() {
        let air = air_of(&row);
        vapour.check(&row, air.vapour_pressure().0);
        moisture.check(&row, 100.0 * air.moisture().0);
        ratio.check(&row, air.humidity_ratio().0);
        enthalpy.check(&row, air.enthalpy().0 / 1e3);
        density.check(&row, air.density().0);
        volume.check(&row, air.specific_volume().0);
        wet_bulb.check(&row, air.wet_bulb().0);
    }
}

/// Most of what the real mixture's enthalpy differs by is the water that it holds more of at the
/// same dew point; at the same humidity ratio little is left.
#[test]
fn the_real_mixture_is_near() {
    let mut ratio = Column::within("cp_W", 0.015);
    let mut density = Column::within("cp_rho_kgm3", 0.01);
    let mut wet_bulb = Column::within_absolute("cp_twb_C", 0.1);
    let mut enthalpy_at_dew_point = Column::within("cp_h_kJkgda", 0.015);
    let mut enthalpy_at_ratio = Column::within("cp_h_kJkgda", 0.01);
    for row in oven().rows() {
        let air = air_of(&row);
        ratio.check(&row, air.humidity_ratio().0);
        density.check(&row, air.density().0);
        wet_bulb.check(&row, air.wet_bulb().0);
        enthalpy_at_dew_point.check(&row, air.enthalpy().0 / 1e3);
        let Some(real) = row.optional("cp_W") else { continue };
        let moister = MoistAir::from_humidity_ratio(air.temperature(), HumidityRatio(real), air.pressure()).unwrap();
        enthalpy_at_ratio.check(&row, moister.enthalpy().0 / 1e3);
    }
}

/// The table's header says which library's wet bulb is wrong above boiling. Kept as a check, so
/// that nobody takes it for a reference.
#[test]
fn a_wet_bulb_equal_to_a_hot_dry_bulb_is_not_believed() {
    let mut wrong = 0;
    for row in oven().rows() {
        let Some(theirs) = row.optional("pslib_twb_C") else { continue };
        if (theirs - row.number("t_dry_C")).abs() < 0.01 {
            wrong += 1;
            assert!(air_of(&row).wet_bulb().0 < 100.0);
        }
    }
    assert!(wrong > 20, "{wrong} rows");
}

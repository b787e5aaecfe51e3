//! `psat.csv`: IAPWS-IF97 (iapws 1.5.5), IAPWS-95 (CoolProp 8.0.0), Hyland and Wexler.

use crate::table::{Column, Table};
use physics::saturation::{pressure, temperature};
use physics::steam::{latent_heat, saturated};
use physics::units::{Celsius, Pascal};

fn table() -> Table {
    Table::parse(include_str!("psat.csv"))
}

#[test]
fn saturation_pressure_follows_if97_and_its_relatives() {
    let mut if97 = Column::within("psat_if97_Pa", 1e-4);
    let mut iapws95 = Column::within("psat_iapws95_Pa", 3e-4);
    let mut hyland_wexler = Column::within("psat_hyland_wexler_Pa", 3e-4);
    for row in table().rows() {
        let found = pressure(Celsius(row.number("t_C"))).unwrap().0;
        if97.check(&row, found);
        iapws95.check(&row, found);
        hyland_wexler.check(&row, found);
    }
}

#[test]
fn saturation_temperature_is_the_way_back() {
    let mut celsius = Column::within_absolute("t_C", 1e-5);
    for row in table().rows() {
        celsius.check(&row, temperature(Pascal(row.number("psat_if97_Pa"))).unwrap().0);
    }
}

#[test]
fn magnus_would_be_off_by_2_6_percent_at_100_degc() {
    let table = table();
    let row = table.rows().find(|row| row.number("t_C") == 100.0).unwrap();
    let ours = pressure(Celsius(100.0)).unwrap().0;
    assert!((row.number("magnus_Pa") / ours - 1.026).abs() < 1e-3);
}

#[test]
fn both_phases_at_saturation_follow_iapws_95() {
    let mut latent = Column::within("hfg_kJkg", 5e-4);
    let mut vapour = Column::within("hg_kJkg", 5e-4);
    let mut liquid = Column::within_absolute("hf_kJkg", 0.2);
    let mut vapour_density = Column::within("rho_v_kgm3", 5e-4);
    let mut liquid_density = Column::within("rho_l_kgm3", 5e-4);
    for row in table().rows() {
        let at = Celsius(row.number("t_C"));
        let both = saturated(pressure(at).unwrap()).unwrap();
        latent.check(&row, latent_heat(at).unwrap().0 / 1e3);
        vapour.check(&row, both.vapour.enthalpy.0 / 1e3);
        liquid.check(&row, both.liquid.enthalpy.0 / 1e3);
        vapour_density.check(&row, 1.0 / both.vapour.volume.0);
        liquid_density.check(&row, 1.0 / both.liquid.volume.0);
    }
}

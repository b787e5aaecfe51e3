//! `if97_verify.csv` (IAPWS R7-97(2012), program verification), `steam_table.csv` (iapws 1.5.5),
//! `steam_orifice.csv` (IF97 isentropic expansion; IEC 60534-2-1; Napier's rule).

use crate::table::{Column, Table};
use physics::saturation;
use physics::steam::nozzle::{Nozzle, Supply};
use physics::steam::valve::{Characteristic, Valve};
use physics::steam::{State, liquid, saturated, vapour};
use physics::units::{Celsius, Metre, Pascal};

#[test]
fn if97_passes_its_own_verification() {
    let mut published = Column::within("published", 1e-8);
    for row in Table::parse(include_str!("if97_verify.csv")).rows() {
        let temperature = || Celsius::from_kelvin(row.number("T_K"));
        let pressure = || Pascal(row.number("p_MPa") * 1e6);
        let property = |state: State| match row.text("property") {
            "v" => state.volume.0,
            "h" => state.enthalpy.0 / 1e3,
            "u" => state.internal_energy.0 / 1e3,
            "s" => state.entropy.0 / 1e3,
            "cp" => state.heat_capacity.0 / 1e3,
            "w" => state.sound_speed.0,
            other => panic!("unknown property {other}"),
        };
        let found = match (row.text("region"), row.text("property")) {
            ("1", _) => property(liquid(temperature(), pressure()).unwrap()),
            ("2", _) => property(vapour(temperature(), pressure()).unwrap()),
            ("4", "psat_MPa") => saturation::pressure(temperature()).unwrap().0 / 1e6,
            ("4", "Tsat_K") => saturation::temperature(pressure()).unwrap().kelvin(),
            other => panic!("unknown row {other:?}"),
        };
        published.check(&row, found);
    }
}

#[test]
fn the_steam_table_of_an_injection_plant() {
    let mut boiling = Column::within_absolute("tsat_C", 1e-4);
    let mut liquid_enthalpy = Column::within("hf", 1e-5);
    let mut latent = Column::within("hfg", 1e-5);
    let mut vapour_enthalpy = Column::within("hg", 1e-5);
    let mut volume = Column::within("vg", 1e-5);
    let mut entropy = Column::within("sg", 1e-5);
    let mut superheated = [("h_150C", 150.0), ("h_200C", 200.0), ("h_250C", 250.0)]
        .map(|(name, celsius)| (Column::within(name, 1e-5), Celsius(celsius)));
    for row in Table::parse(include_str!("steam_table.csv")).rows() {
        let pressure = Pascal::from_bar(row.number("p_bar_a"));
        let both = saturated(pressure).unwrap();
        boiling.check(&row, both.vapour.temperature.0);
        liquid_enthalpy.check(&row, both.liquid.enthalpy.0 / 1e3);
        latent.check(&row, (both.vapour.enthalpy.0 - both.liquid.enthalpy.0) / 1e3);
        vapour_enthalpy.check(&row, both.vapour.enthalpy.0 / 1e3);
        volume.check(&row, both.vapour.volume.0);
        entropy.check(&row, both.vapour.entropy.0 / 1e3);
        for (column, temperature) in &mut superheated {
            // The table leaves a cell empty where the steam would have condensed.
            if let Ok(state) = vapour(*temperature, pressure) {
                column.check(&row, state.enthalpy.0 / 1e3);
            }
        }
    }
}

#[test]
fn nozzle_and_valve_pass_what_the_table_says() {
    let bore = Nozzle::from_bore(Metre(0.010), 1.0).unwrap();
    let metric = Valve::from_kv(1.0, 0.70).unwrap();
    let american = Valve::from_cv(1.0, 0.70).unwrap();
    let vacuum = Pascal(0.0);
    let mut boiling = Column::within_absolute("tsat_C", 1e-3);
    let mut density = Column::within("rho_kgm3", 1e-5);
    let mut flow = Column::within("hem_if97_kg_h", 1e-4);
    let mut ratio = Column::within_absolute("hem_critical_ratio", 1.5e-3);
    let mut napier = Column::within("napier_kg_h", 0.05);
    let mut ideal = Column::within("ideal_k1.135_kg_h", 0.005);
    let mut kv = Column::within("iec60534_Kv1_kg_h", 1e-4);
    let mut cv = Column::within("iec60534_Cv1_k1.3_xT0.7_kg_h", 1e-4);
    for row in Table::parse(include_str!("steam_orifice.csv")).rows() {
        let supply = Supply::saturated(Pascal::from_bar(row.number("p_bar_a")), 1.0).unwrap();
        let passed = bore.flow(&supply, vacuum).unwrap();
        let through = |valve: Valve| valve.flow(&supply, vacuum, 1.0, Characteristic::Linear).unwrap().per_hour();
        boiling.check(&row, saturation::temperature(supply.pressure()).unwrap().0);
        density.check(&row, 1.0 / supply.volume().0);
        flow.check(&row, passed.mass_flow.per_hour());
        ratio.check(&row, passed.critical_ratio);
        napier.check(&row, passed.mass_flow.per_hour());
        ideal.check(&row, passed.mass_flow.per_hour());
        kv.check(&row, through(metric));
        cv.check(&row, through(american));
    }
}

//! `exhaust_balance.csv`: water to remove, make-up air of 25 °C and 0.010 kg/kg, at 101325 Pa.

use crate::table::{Column, Table};
use physics::air::{MoistAir, exhaust};
use physics::units::{Celsius, HumidityRatio, MoistureFraction, Pascal};

#[test]
fn a_kilogram_of_water_costs_what_the_balance_says() {
    let pressure = Pascal(101_325.0);
    let supply = MoistAir::from_humidity_ratio(Celsius(25.0), HumidityRatio(0.010), pressure).unwrap();
    let mut ratio = Column::within("W_out", 5e-4);
    let mut dew_point = Column::within_absolute("t_dew_C", 1e-3);
    let mut density = Column::within("exhaust_density", 5e-4);
    let mut dry_air = Column::within("dry_air_kg_h", 5e-4);
    let mut volume = Column::within("exhaust_m3_h_actual", 5e-4);
    let mut heat = Column::within("kJ_per_kg_water_total", 5e-4);
    let mut heat_of_air = Column::within("kJ_per_kg_water_air_part", 5e-4);
    let mut power = Column::within("Q_total_kW", 5e-4);
    let mut power_of_air = Column::within("Q_air_kW", 5e-4);
    for row in Table::parse(include_str!("exhaust_balance.csv")).rows() {
        let moisture = MoistureFraction(row.number("moisture_volpct") / 100.0);
        let air = MoistAir::from_moisture(Celsius(row.number("T_ex_C")), moisture, pressure).unwrap();
        let water = row.number("m_w_kg_h");
        let each = exhaust::per_water(&air, &supply).unwrap();
        ratio.check(&row, air.humidity_ratio().0);
        dew_point.check(&row, air.dew_point().unwrap().0);
        density.check(&row, air.density().0);
        dry_air.check(&row, water * each.dry_air);
        volume.check(&row, water * each.volume.0);
        heat.check(&row, each.heat.0 / 1e3);
        heat_of_air.check(&row, each.heat_of_air.0 / 1e3);
        power.check(&row, water * each.heat.0 / 3.6e6);
        power_of_air.check(&row, water * each.heat_of_air.0 / 3.6e6);
    }
}

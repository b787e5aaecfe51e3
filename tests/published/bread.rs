//! `oven_published.csv`: what is published of dough and baking, as plausibility ranges; its last
//! column says which were seen at the source, which are from memory and which common practice.

use crate::table::{Row, Table};
use physics::dough::Dough;
use physics::steam::injection::LONGEST_USEFUL_EXPOSURE;
use physics::surface::GELATINISATION;
use physics::units::Celsius;

fn table() -> Table {
    Table::parse(include_str!("oven_published.csv"))
}

fn range(id: &str) -> (f64, f64) {
    let table = table();
    let row: Row<'_> = table.rows().find(|row| row.text("id") == id).unwrap();
    (row.number("low"), row.number("high"))
}

fn within(value: f64, id: &str, slack: f64) {
    let (low, high) = range(id);
    assert!(value >= low * (1.0 - slack) && value <= high * (1.0 + slack), "{id}: {value} for {low} to {high}");
}

#[test]
fn heat_capacity_of_dough_lies_where_it_was_measured() {
    let dough = Dough::lean(0.445, 0.0).unwrap();
    for celsius in [20.0, 55.0, 90.0] {
        within(dough.heat_capacity(Celsius(celsius)).unwrap().0 / 1e3, "cp_dough", 0.0);
    }
    within(dough.heat_capacity(Celsius(40.0)).unwrap().0 / 1e3, "cp_dough_typical", 0.05);
}

/// The rack oven's physical minimum, 745 kJ per kg of bread, 65 % of it evaporation. Its bake loss
/// is not given; the evaporation alone says 0.215 kg of water per kg of bread.
#[test]
fn the_least_heat_of_baking_is_that_of_the_rack_oven() {
    let (minimum, _) = range("energy_minimum");
    let (share, _) = range("minimum_evap_share");
    let water_per_bread = minimum * share / 100.0 / 2257.0;
    let bake_loss = water_per_bread / (1.0 + water_per_bread);
    within(100.0 * bake_loss, "bake_loss_hearth", 0.0);
    let heat = Dough::lean(0.44, 0.0).unwrap().least_heat(Celsius(28.0), Celsius(98.0), bake_loss).unwrap();
    let per_bread = |heat: f64| heat / 1e3 / (1.0 - bake_loss);
    let total = per_bread(heat.warming.0 + heat.evaporation.0);
    within(total, "energy_minimum", 0.05);
    within(100.0 * per_bread(heat.evaporation.0) / total, "minimum_evap_share", 0.05);
}

#[test]
fn common_practice_is_quoted_as_it_stands() {
    within(LONGEST_USEFUL_EXPOSURE.0, "steam_time", 0.0);
    within(GELATINISATION.0, "surface_gelatinisation", 0.0);
    within(GELATINISATION.0, "wheat_starch", 0.0);
}

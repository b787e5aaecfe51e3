//! `combustion.csv`: complete combustion of methane and of two reference natural gases; calorific
//! values after ISO 6976:2016 and the gases' analyses (AGA Report 8) typed from memory.

use crate::table::{Column, Table};
use physics::combustion::Component::*;
use physics::combustion::{Component, Fuel, HeatBasis::Gross, HeatBasis::Net};
use physics::units::HumidityRatio;

const GULF_COAST: [(Component, f64); 10] = [
    (Nitrogen, 0.259_5e-2),
    (CarbonDioxide, 0.595_6e-2),
    (Methane, 96.522_2e-2),
    (Ethane, 1.818_6e-2),
    (Propane, 0.459_6e-2),
    (Isobutane, 0.097_7e-2),
    (Butane, 0.100_7e-2),
    (Isopentane, 0.047_3e-2),
    (Pentane, 0.032_4e-2),
    (Hexane, 0.066_4e-2),
];

const EKOFISK: [(Component, f64); 9] = [
    (Nitrogen, 1.006_8e-2),
    (CarbonDioxide, 1.495_4e-2),
    (Methane, 85.906_3e-2),
    (Ethane, 8.491_9e-2),
    (Propane, 2.301_5e-2),
    (Isobutane, 0.348_6e-2),
    (Butane, 0.350_6e-2),
    (Isopentane, 0.050_9e-2),
    (Pentane, 0.048_0e-2),
];

fn gas(name: &str) -> Fuel {
    match name {
        "methane" => Fuel::methane(),
        "gulf_coast_AGA8" => Fuel::from_analysis(&GULF_COAST).unwrap(),
        "ekofisk_AGA8" => Fuel::from_analysis(&EKOFISK).unwrap(),
        other => panic!("unknown gas {other}"),
    }
}

fn table() -> Table {
    Table::parse(include_str!("combustion.csv"))
}

#[test]
fn heat_air_and_water_of_each_gas() {
    const TOLERANCE: f64 = 2e-4;
    let mut columns = [
        "gross_kWh_per_m3n",
        "net_kWh_per_m3n",
        "gross_MJ_per_kg",
        "stoich_air_m3_per_m3",
        "stoich_air_kg_per_kg",
        "water_from_fuel_kg_per_kWh_gross",
        "water_from_fuel_kg_per_kWh_net",
        "water_kg_per_m3n",
        "co2_kg_per_kWh_gross",
        "co2_kg_per_kWh_net",
    ]
    .map(|name| Column::within(name, TOLERANCE));
    for row in table().rows() {
        let fuel = gas(row.text("gas"));
        let found = [
            fuel.heat(Gross).0 / 3.6e6,
            fuel.heat(Net).0 / 3.6e6,
            fuel.heat_by_mass(Gross).0 / 1e6,
            fuel.air_by_volume(),
            fuel.air_by_mass(),
            fuel.water(Gross).0,
            fuel.water(Net).0,
            fuel.water_by_volume(),
            fuel.carbon_dioxide(Gross).0,
            fuel.carbon_dioxide(Net).0,
        ];
        columns.iter_mut().zip(found).for_each(|(column, found)| column.check(&row, found));
    }
}

#[test]
fn flue_gas_at_every_excess_and_humidity_of_air() {
    const TOLERANCE: f64 = 2e-4;
    let mut columns = [
        "fluegas_wet_m3_per_m3",
        "fluegas_dry_m3_per_m3",
        "o2_dry_pct",
        "o2_wet_pct",
        "co2_dry_pct",
        "h2o_wet_volpct",
        "fluegas_wet_m3n_per_kWh_gross",
    ]
    .map(|name| Column::within(name, TOLERANCE));
    for row in table().rows() {
        let fuel = gas(row.text("gas"));
        let humidity = HumidityRatio(row.number("air_humidity_kgkg"));
        let flue = fuel.burn(row.number("excess_air_pct") / 100.0, humidity).unwrap();
        let found = [
            flue.wet_volume(),
            flue.dry_volume(),
            100.0 * flue.oxygen_dry(),
            100.0 * flue.oxygen_wet(),
            100.0 * flue.carbon_dioxide_dry(),
            100.0 * flue.moisture().0,
            flue.wet_volume() / (fuel.heat(Gross).0 / 3.6e6),
        ];
        columns.iter_mut().zip(found).for_each(|(column, found)| column.check(&row, found));
    }
}

#[test]
fn excess_air_from_oxygen_needs_the_exact_form() {
    let mut exact = Column::within("ea_from_o2dry_exact_pct", 2e-4);
    let mut from_wet = Column::within("excess_air_pct", 2e-4);
    let mut short = Column::within("ea_from_o2dry_simple_pct", 2e-4);
    for row in table().rows() {
        let fuel = gas(row.text("gas"));
        let [dry, wet] = ["o2_dry_pct", "o2_wet_pct"].map(|column| row.number(column) / 100.0);
        let humidity = HumidityRatio(row.number("air_humidity_kgkg"));
        let found = 100.0 * fuel.excess_air_from_dry_oxygen(dry).unwrap();
        exact.check(&row, found);
        from_wet.check(&row, 100.0 * fuel.excess_air_from_wet_oxygen(wet, humidity).unwrap());
        let by_short_form = 100.0 * dry / (0.209_46 - dry);
        short.check(&row, by_short_form);
        assert!(found == 0.0 || by_short_form > 1.10 * found);
    }
}

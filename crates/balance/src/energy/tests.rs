//! An invented hour and a half whose every figure can be checked by hand.
#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::sync::Arc;

use physics::combustion::HeatBasis;
use physics::units::{Celsius, HumidityRatio, Metre, MetrePerMinute, Pascal};
use reading::{
    Firing, Line, LineIndex, NumberSeries, Plant, Product, Quality, Quantity, RunningState, Shape, ShiftCalendar,
    Signal, SignalId, SignalMap, Span, Timestamp, Window, Zone, ZoneWindow,
};

use super::*;

const LINE: LineIndex = LineIndex(0);

/// A directly fired oven of three zones with meters of gas and steam, and a counter of good product if asked for.
fn plant(with_counter: bool) -> Plant {
    let signal = |topic: &str, quantity| Signal::of_topic(topic, LINE, None, quantity);
    let mut signals = vec![signal("gas", Quantity::GasFlow), signal("steam", Quantity::SteamFlow)];
    if with_counter {
        signals.push(signal("good", Quantity::GoodMass));
    }
    Plant {
        site: "millbrook".into(),
        name: "Millbrook Bakery".into(),
        pressure: Pascal(101_325.0),
        shifts: ShiftCalendar::new(chrono_tz::UTC, Vec::new()),
        lines: vec![Line {
            id: "tunnel-1".into(),
            name: "Tunnel oven 1".into(),
            firing: Firing::Direct,
            fuel: None,
            steam_section: Some(Metre(1.2)),
            zones: vec![Zone { length: Metre(7.0) }; 3],
        }],
        products: vec![Product {
            code: "T800".into(),
            name: "Tin loaf".into(),
            dough_kg_per_m: Some(13.0),
            bake_loss_pct: Some(10.0),
            dough_moisture_pct: None,
            bake_time_min: None,
            max_zone3_moisture_pct: None,
            shape: Shape::Steamed,
        }],
        signals: SignalMap::new(signals),
    }
}

/// An hour of baking at 1 m/min, then half an hour without dough.
fn windows() -> Vec<Window> {
    let zone = |ratio, temperature| ZoneWindow {
        humidity: Some(HumidityRatio(ratio)),
        air_temperature: Some(Celsius(temperature)),
        exhaust_damper: None,
    };
    let window = |at: i64| {
        let starts = Timestamp(0) + Span::seconds(30 * at);
        let is_baking = at < 120;
        let state = if is_baking { RunningState::Baking } else { RunningState::Heating };
        Window {
            product: Some("T800".into()),
            band_speed: Some(MetrePerMinute(1.0)),
            fed: Some(is_baking),
            zones: vec![zone(0.40, 220.0), zone(0.20, 240.0), zone(0.12, 230.0)],
            ..Window::unmeasured(LINE, starts, starts + Span::seconds(30), state)
        }
    };
    (0..180).map(window).collect()
}

/// 50 m³/h of gas and 120 kg/h of steam throughout; the counter rises by a kg every 5 s of baking.
fn readings() -> Vec<NumberSeries> {
    let mut series: Vec<NumberSeries> = (0..3).map(|signal| NumberSeries::new(SignalId(signal))).collect();
    for at in 0..=540_i64 {
        let time = Timestamp(0) + Span::seconds(10 * at);
        let baked = at.min(360) as f64 * 2.0;
        for (signal, value) in [(0, 50.0), (1, 120.0), (2, baked)] {
            series[signal].push(time, value, Quality::Good);
        }
    }
    series
}

fn settings() -> EnergySettings {
    let gas_factor = CarbonFactor { kg_per_kwh: 0.18, source: "invented".into() };
    EnergySettings {
        gas: Some(CalorificValue { kwh_per_m3: 11.0, basis: HeatBasis::Gross }),
        prices: Prices { gas_per_kwh: Some(0.05), electricity_per_kwh: None },
        carbon: Carbon { gas: Some(gas_factor), electricity: None },
        ..EnergySettings::default()
    }
}

/// As wet as found in zones 1 and 2, and drier by 0.02 in zone 3.
fn normal(_: &Arc<str>, _: MetrePerMinute) -> Option<Vec<HumidityRatio>> {
    Some([0.40, 0.20, 0.10].map(HumidityRatio).to_vec())
}

fn nothing_drawn(_: &Arc<str>, _: &Window) -> Option<Vec<f64>> {
    None
}

/// A normal, and no balance.
const KNOWN: Known<'static> = Known { humidity: &normal, exhaust: &nothing_drawn };

fn tallied(plant: &Plant, windows: &[Window]) -> BTreeMap<Option<Arc<str>>, Tally> {
    tally(plant, LINE, windows, &readings(), &settings(), KNOWN)
}

fn only(tallies: BTreeMap<Option<Arc<str>>, Tally>) -> Tally {
    assert_eq!(tallies.len(), 1);
    tallies.into_values().next().unwrap()
}

fn near(found: Option<f64>, wanted: f64) {
    let found = found.unwrap();
    assert!((found - wanted).abs() < 1e-9 * wanted.abs().max(1.0), "{found} for {wanted}");
}

#[test]
fn every_figure_of_the_hour_and_a_half() {
    let plant = plant(false);
    let found = record(&only(tallied(&plant, &windows())), &plant, LINE, &settings());
    assert_eq!(found.good_mass, Some(GoodMass::Baked));
    near(Some(found.baking_h), 1.0);
    near(Some(found.idle_h), 0.5);
    near(found.dough_kg, 780.0);
    near(found.evaporated_kg, 78.0);
    near(found.good_kg, 702.0);
    near(found.gas_m3, 75.0);
    near(found.gas_kwh_gross, 825.0);
    near(found.steam_kg, 180.0);
    // Steam tables: 2693.1 kJ/kg at 1.5 bar, 335.0 for water at 80 degC (350 at the 200 bar of the tables' row).
    let each = found.steam_kwh.unwrap() / 180.0;
    assert!((each - (2693.1 - 335.0) / 3600.0 / 0.85).abs() < 0.01, "{each}");
    near(found.energy_kwh, 825.0 + 180.0 * each);
    near(found.idle_kwh, 275.0 + 60.0 * each);
    near(found.kwh_per_t, found.energy_kwh.unwrap() / 0.702);
    near(found.cost, found.energy_kwh.unwrap() * 0.05);
    near(found.co2_kg, found.energy_kwh.unwrap() * 0.18);
    near(Some(found.coverage_pct), 100.0);
    assert_eq!(found.peak().unwrap().0, 1);
    // x = w / (0.621945 + w).
    near(found.late_moisture_pct(), 100.0 * 0.12 / 0.741_945);
}

#[test]
fn steam_longer_than_useful_and_steam_without_product_are_waste() {
    let plant = plant(false);
    let waste = record(&only(tallied(&plant, &windows())), &plant, LINE, &settings()).over_steaming.unwrap();
    // 1.2 m at 1 m/min are 72 s, of which 10 are useful; and all of the half hour without dough.
    near(Some(waste.kg), 120.0 * 62.0 / 72.0 + 60.0);
    // At the mean humidity (0.24 kg/kg, 230 degC) each kg costs the boiler 0.77 kWh and the oven some 0.4 more.
    assert!((0.9..1.4).contains(&(waste.kwh / waste.kg)), "{}", waste.kwh / waste.kg);
    let mut patient = settings();
    patient.useful_steam = physics::units::Seconds(90.0);
    let tally = only(tally(&plant, LINE, &windows()[..120], &readings(), &patient, KNOWN));
    near(record(&tally, &plant, LINE, &patient).over_steaming.map(|waste| waste.kg), 0.0);
}

#[test]
fn moisture_above_normal_is_weighed_by_the_exhaust_that_the_water_needs() {
    let plant = plant(false);
    let found = record(&only(tallied(&plant, &windows())), &plant, LINE, &settings());
    let ExcessMoisture { waste, most_by_zone } = found.excess_moisture.unwrap();
    assert_eq!(most_by_zone, None, "nobody knows what the exhausts draw");
    // 78 kg evaporated, and two thirds of the time steam and combustion water; zones hold 0.24 over 0.01 outside.
    let water = 78.0 + (180.0 + 0.162 * found.gas_kwh_net.unwrap()) * 2.0 / 3.0;
    let wanted = water / 0.23 / 3.0 * 0.02;
    assert!((waste.kg / wanted - 1.0).abs() < 2e-3, "{} for {wanted}", waste.kg);
    // Vapour of 230 degC holds 2935 kJ/kg (steam tables, ideal gas).
    assert!((waste.kwh / waste.kg - 2935.0 / 3600.0).abs() < 0.005, "{}", waste.kwh / waste.kg);
    let without = Known { humidity: &|_, _| None, ..KNOWN };
    let unknown = tally(&plant, LINE, &windows(), &readings(), &settings(), without);
    assert_eq!(record(&only(unknown), &plant, LINE, &settings()).excess_moisture, None, "nothing is known as normal");
}

#[test]
fn where_a_balance_says_what_each_exhaust_draws_the_excess_is_its_own() {
    let plant = plant(false);
    let until = |last: i64| {
        let drawn = move |_: &Arc<str>, window: &Window| {
            (window.starts < Timestamp(0) + Span::minutes(last)).then(|| vec![400.0, 600.0, 300.0])
        };
        let known = Known { exhaust: &drawn, ..KNOWN };
        let tally = only(tally(&plant, LINE, &windows(), &readings(), &settings(), known));
        record(&tally, &plant, LINE, &settings()).excess_moisture.unwrap()
    };
    // 300 kg/h of dry air, each with 0.02 kg more than normal, for an hour.
    let found = until(60);
    near(Some(found.waste.kg), 6.0);
    assert_eq!(found.most_by_zone, Some(3));
    assert_eq!(until(30).most_by_zone, None, "half of the time is no measure of all of it");
}

#[test]
fn parts_add_up_to_the_whole() {
    let (plant, windows) = (plant(true), windows());
    let whole = record(&only(tallied(&plant, &windows)), &plant, LINE, &settings());
    let mut sum = Tally::default();
    windows.chunks(37).for_each(|part| sum.merge(&only(tallied(&plant, part))));
    let summed = record(&sum, &plant, LINE, &settings());
    near(summed.energy_kwh, whole.energy_kwh.unwrap());
    near(summed.kwh_per_t, whole.kwh_per_t.unwrap());
    near(summed.late_moisture_pct(), whole.late_moisture_pct().unwrap());
    near(summed.over_steaming.map(|waste| waste.kwh), whole.over_steaming.unwrap().kwh);
    assert_eq!(summed.good_mass, Some(GoodMass::Counted));
    near(summed.good_kg, 720.0);
}

#[test]
fn what_is_not_known_stays_unknown_and_says_why() {
    let plant = plant(false);
    let unstated = EnergySettings::default();
    let found = record(&only(tally(&plant, LINE, &windows(), &readings(), &unstated, KNOWN)), &plant, LINE, &unstated);
    assert_eq!((found.energy_kwh, found.kwh_per_t, found.cost, found.co2_kg), (None, None, None, None));
    near(found.gas_m3, 75.0);
    near(found.dough_kg, 780.0);
    let told: Vec<String> = missing(&plant, LINE, &unstated).iter().map(ToString::to_string).collect();
    assert!(told[0].starts_with("no calorific value of the gas: gas stays in m3"), "{told:?}");
    assert!(told[0].contains("gas_kwh_per_m3"), "{told:?}");
    for wanted in ["electric_power", "good_mass", "ambient_temperature", "gas_per_kwh", "gas_co2_kg_per_kwh"] {
        assert!(told.iter().any(|told| told.contains(wanted)), "{wanted} in {told:?}");
    }

    let mut blind = plant.clone();
    blind.signals = SignalMap::default();
    let found = record(&only(tallied(&blind, &windows())), &blind, LINE, &settings());
    assert_eq!((found.gas_m3, found.energy_kwh, found.over_steaming), (None, None, None));
    near(found.good_kg, 702.0);
    let told = missing(&blind, LINE, &settings());
    assert_eq!(told[0].lacks, "no signal gas_flow");
}

#[test]
fn a_meter_that_falls_silent_lowers_the_coverage_and_is_not_filled_in() {
    let plant = plant(false);
    let mut silenced = readings();
    for series in &mut silenced {
        let kept = series.time_us.partition_point(|time| *time < 1_800_000_000);
        series.time_us.truncate(kept);
        series.value.truncate(kept);
        series.quality.truncate(kept);
    }
    let found =
        record(&only(tally(&plant, LINE, &windows(), &silenced, &settings(), KNOWN)), &plant, LINE, &settings());
    // Half an hour, and the last value (10 s before its end) held for 5 min.
    near(found.gas_m3, 50.0 * (1790.0 + 300.0) / 3600.0);
    near(Some(found.coverage_pct), 100.0 * 2090.0 / 5400.0);
}

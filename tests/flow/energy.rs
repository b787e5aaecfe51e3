//! Energy records: the same from the store, from what was exported of it, and on MQTT; and what they say of a plant
//! that lacks something.

use std::fs;
use std::process::Command;
use std::time::Duration;

use bakehouse::{Bakery, Draw, PlantReading, PlantValue, Schedule, Simulation};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;

use crate::history::load;
use crate::plant::Plant;

/// Ten hours from the beginning of an early shift on: that shift is over, and the next one has begun.
fn readings() -> Vec<PlantReading> {
    let start: DateTime<Utc> = "2026-06-02T05:00:00Z".parse().unwrap();
    let interval = Duration::from_secs(30);
    let mut plant = Simulation::new(Bakery::millbrook_single(), &Schedule::quiet(), 3, start, interval).unwrap();
    plant.until(start + TimeDelta::hours(10)).collect()
}

fn loaded(place: &Plant) -> Vec<PlantReading> {
    let readings = readings();
    load(place, &readings);
    readings
}

/// The records of the shifts, as JSON.
fn records(place: &Plant) -> Vec<Value> {
    serde_json::from_str(&place.printed(&["energy", "--format", "json"])).unwrap()
}

fn number(record: &Value, column: &str) -> f64 {
    record[column].as_f64().unwrap_or_else(|| panic!("{column} is {}", record[column]))
}

#[test]
fn a_record_holds_what_the_meters_read_and_goes_out_over_mqtt_once_the_shift_is_over() {
    let place = Plant::new();
    let readings = loaded(&place);
    let early = &records(&place)[0];
    assert_eq!((&early["period"], &early["products"]), (&"2026-06-02 early".into(), &"T800".into()));

    // The mean of the gas readings of the eight hours: the same by hand, within what a step of 30 s can hide.
    let gas: Vec<f64> = readings[..readings.len() * 8 / 10]
        .iter()
        .filter(|reading| &*reading.topic == "mill/tunnel-1/gas")
        .map(|reading| if let PlantValue::Number { value, .. } = reading.value { value } else { 0.0 })
        .collect();
    let gas_m3 = gas.iter().sum::<f64>() / gas.len() as f64 * 8.0;
    assert!((number(early, "gas_m3") / gas_m3 - 1.0).abs() < 2e-3, "{early} for {gas_m3} m3");
    assert!((number(early, "gas_kwh_net") / (number(early, "gas_m3") * 9.8) - 1.0).abs() < 1e-9);
    // 28 m in 24 min carry 13 kg of dough a metre, of which 10.5 % evaporate.
    let dough_kg = 28.0 / 24.0 * 60.0 * 8.0 * 13.0;
    assert!((number(early, "dough_kg") / dough_kg - 1.0).abs() < 0.05, "{early} for {dough_kg} kg of dough");
    assert!((number(early, "good_kg") / number(early, "dough_kg") - 0.895).abs() < 1e-9);
    assert!(number(early, "zone3_moisture_pct") > 0.0 && number(early, "coverage_pct") > 99.0, "{early}");

    assert_eq!(&sent(&place), early, "the record on MQTT is the row of the command");
}

/// The record that the service sends of the last shift that is over.
fn sent(place: &Plant) -> Value {
    let _serving = place.serve();
    let topic = "ovenward/millbrook/tunnel-1/energy/shift";
    let port = place.broker_port.to_string();
    let heard = Command::new("mosquitto_sub").args(["-p", &port, "-t", topic, "-C", "1", "-W", "60"]).output().unwrap();
    serde_json::from_slice(&heard.stdout).unwrap()
}

/// A counter of good product that rises by 10 kg a minute, and begins again after four hours.
#[test]
fn with_a_counter_of_good_product_the_indicator_is_of_what_was_counted() {
    let place = Plant::new();
    let mut readings = readings();
    let start = readings[0].time;
    let counted = (0..600).map(|minute| PlantReading {
        time: start + TimeDelta::minutes(minute),
        sent: start + TimeDelta::minutes(minute),
        topic: "mill/tunnel-1/good".into(),
        value: PlantValue::Number {
            value: (if minute < 240 { 5_000 + 10 * minute } else { 10 * (minute - 240) }) as f64,
            decimals: 0,
        },
    });
    readings.extend(counted);
    let config = fs::read_to_string(place.path("plant.toml")).unwrap();
    let meter = "gas_flow = { topic = \"mill/tunnel-1/gas\"";
    let counter = format!("good_mass = {{ topic = \"mill/tunnel-1/good\", unit = \"kg\" }}\n{meter}");
    fs::write(place.path("plant.toml"), config.replace(meter, &counter)).unwrap();
    load(&place, &readings);
    let early = &records(&place)[0];
    assert_eq!(early["good_mass"], "counted");
    // 480 min of 10 kg, less the minute in which the counter began again at nought.
    assert!((number(early, "good_kg") - 4_790.0).abs() <= 10.0, "{early}");
    assert!(number(early, "gas_m3") > 0.0, "{early}");
    let each = number(early, "energy_kwh") / (number(early, "good_kg") / 1000.0);
    assert!((number(early, "kwh_per_t") / each - 1.0).abs() < 1e-12, "{early}");
    assert!(number(early, "zone3_moisture_pct") > 0.0, "never one without the other");
    let steam = number(early, "over_steaming_kwh") * 0.045;
    assert!(steam > 0.0 && (number(early, "over_steaming_cost") / steam - 1.0).abs() < 1e-12, "{early}");
}

#[test]
fn what_was_exported_and_loaded_elsewhere_gives_the_same_records_to_the_last_byte() {
    let place = Plant::new();
    loaded(&place);
    let table = |place: &Plant| place.printed(&["energy", "--by", "day", "--format", "csv"]);
    let first = table(&place);
    assert_eq!(table(&place), first, "asked twice");
    for format in ["csv", "parquet"] {
        let folder = place.path(format);
        let folder = folder.to_str().unwrap();
        let told = place.printed(&["export", "--what", "readings", "--format", format, "--out", folder]);
        let files: Vec<&str> = told.lines().filter_map(|line| line.split(": ").next()).collect();
        assert_eq!(files.len(), 1, "{told}");
        let other = Plant::new();
        other.printed(&["backfill", files[0]]);
        assert_eq!(table(&other), first, "by way of {format}");
    }
    let nothing = place.run(&["export", "--what", "alerts", "--out", place.path("none").to_str().unwrap()]);
    assert_eq!(nothing.status.code(), Some(3), "there were no alerts");
}

#[test]
fn a_plant_that_lacks_something_is_told_what_and_given_the_rest() {
    let place = Plant::new();
    loaded(&place);
    let config = fs::read_to_string(place.path("plant.toml")).unwrap();
    fs::write(place.path("plant.toml"), config.replace("gas_kwh_per_m3 = 9.8\ngas_basis = \"net\"\n", "")).unwrap();
    let text = place.printed(&["energy"]);
    assert!(text.contains("no calorific value of the gas") && text.contains("gas_kwh_per_m3 and gas_basis"), "{text}");
    assert!(text.contains("baseline_from and baseline_to"), "{text}");

    let without_gas: String =
        config.lines().filter(|line| !line.starts_with("gas_flow")).map(|line| format!("{line}\n")).collect();
    fs::write(place.path("plant.toml"), without_gas).unwrap();
    let text = place.printed(&["energy"]);
    assert!(text.contains("no signal gas_flow") && text.contains("zone 3"), "{text}");
    let early = &records(&place)[0];
    assert!(early["energy_kwh"].is_null() && early["kwh_per_t"].is_null(), "{early}");
    assert!(number(early, "good_kg") > 0.0 && number(early, "steam_kg") > 0.0, "{early}");
}

/// Six days of three shifts as they come, invented.
fn days() -> Vec<PlantReading> {
    let start: DateTime<Utc> = "2026-06-01T05:00:00Z".parse().unwrap();
    let (bakery, ends) = (Bakery::millbrook_single(), start + TimeDelta::days(6));
    let schedule = Schedule::drawn(&bakery, &Draw::default(), 7, start, ends);
    let mut plant = Simulation::new(bakery, &schedule, 7, start, Duration::from_secs(60)).unwrap();
    plant.until(ends).collect()
}

#[test]
fn days_without_a_change_save_nothing_that_is_certain_and_a_short_baseline_is_refused() {
    let place = Plant::new();
    load(&place, &days());
    let text = |baseline_to| {
        let baseline = ["--baseline-from", "2026-06-01", "--baseline-to", baseline_to];
        place.printed(&[&["energy", "--from", "2026-06-05T06:00:00Z"][..], &baseline].concat())
    };
    let stands = text("2026-06-05");
    assert!(stands.contains("kWh a shift =") && stands.contains("12 shifts of 2026-06-01 to 2026-06-04"), "{stands}");
    assert!(stands.contains("no more than scatter") && stands.contains("CUSUM turned nowhere"), "{stands}");
    let short = text("2026-06-02");
    assert!(short.contains("refused: it has 3 complete records and needs 12"), "{short}");

    // A baseline in the config goes with the record on MQTT as well, once its period is over.
    let config = fs::read_to_string(place.path("plant.toml")).unwrap();
    let period = "[energy]\nbaseline_from = \"2026-06-01\"\nbaseline_to = \"2026-06-05\"";
    fs::write(place.path("plant.toml"), config.replace("[energy]", period)).unwrap();
    let sent = sent(&place);
    let asked = ["--from", sent["starts"].as_str().unwrap(), "--to", sent["ends"].as_str().unwrap()];
    let told = place.printed(&[&["energy", "--format", "json"][..], &asked].concat());
    assert_eq!(
        serde_json::from_str::<Vec<Value>>(&told).unwrap(),
        std::slice::from_ref(&sent),
        "the row of the command"
    );
    let saved = number(&sent, "expected_kwh") - number(&sent, "energy_kwh");
    assert!((number(&sent, "saving_kwh") - saved).abs() < 1e-6, "{sent}");
}

//! What the tables must hold: what the commands print, to the last digit.

use std::fs;
use std::time::Duration;

use bakehouse::{Bakery, CSV_HEADER, Draw, PlantReading, Schedule, Simulation, write_csv_row};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;

use crate::plant::{Plant, wait_for};
use crate::server::Server;

/// When every history of these tests begins: with an early shift.
pub(crate) fn begins() -> DateTime<Utc> {
    "2026-06-02T05:00:00Z".parse().unwrap()
}

/// So many hours of quiet baking.
pub(crate) fn baked(hours: i64) -> Vec<PlantReading> {
    let interval = Duration::from_secs(60);
    let bakery = Bakery::millbrook_single();
    let mut plant = Simulation::new(bakery, &Schedule::quiet(), 3, begins(), interval).unwrap();
    plant.until(begins() + TimeDelta::hours(hours)).collect()
}

/// So many days of three shifts as they come, with every product.
fn drawn(days: i64) -> Vec<PlantReading> {
    let (bakery, ends) = (Bakery::millbrook_single(), begins() + TimeDelta::days(days));
    let schedule = Schedule::drawn(&bakery, &Draw { weekly_rest: false, ..Draw::default() }, 7, begins(), ends);
    let mut plant = Simulation::new(bakery, &schedule, 7, begins(), Duration::from_secs(60)).unwrap();
    plant.until(ends).collect()
}

#[test]
fn every_figure_is_the_one_that_the_commands_print_normal_and_baseline_included() {
    let (server, place) = (Server::new(), Plant::new());
    server.write_into(&place, &server.url(), "");
    let config = fs::read_to_string(place.path("plant.toml")).unwrap();
    let period = "[energy]\nbaseline_from = \"2026-06-02\"\nbaseline_to = \"2026-06-06\"";
    fs::write(place.path("plant.toml"), config.replace("[energy]", period)).unwrap();
    load(&place, &drawn(6));
    place.printed(&["learn", "--line", "tunnel-1", "--product", "T800", "--approve"]);
    place.printed(&["sql", "push"]);
    // The last of eighteen is over a minute after the last reading, and late ones are waited for.
    assert_shifts(&server, &place, 17);
    for filled in ["shift WHERE departure > 0 AND normal_id = 'tunnel-1/T800/1'", "energy WHERE saving_kwh <> 0"] {
        assert!(server.count(&format!("ovenward.{filled}")) > 3, "{filled}");
    }
}

/// Readings as `backfill` takes them.
pub(crate) fn csv<'a>(readings: impl IntoIterator<Item = &'a PlantReading>) -> String {
    let mut text = format!("{CSV_HEADER}\n").into_bytes();
    readings.into_iter().for_each(|reading| write_csv_row(&mut text, reading).unwrap());
    String::from_utf8(text).unwrap()
}

/// Loads readings from a file.
pub(crate) fn load<'a>(place: &Plant, readings: impl IntoIterator<Item = &'a PlantReading>) {
    let path = place.path("history.csv");
    fs::write(&path, csv(readings)).unwrap();
    place.printed(&["backfill", path.to_str().unwrap()]);
}

/// Waits until everything of so many shifts of tunnel-1 is there.
pub(crate) fn wait_for_shifts(server: &Server, shifts: i64) {
    let until = begins() + TimeDelta::hours(8 * shifts);
    let there = format!("SELECT count(*) FROM ovenward.position WHERE line = 'tunnel-1' AND until = '{until}'");
    wait_for("the shifts to be written", || server.is_made() && server.psql(&there) == "2");
}

/// Holds the tables of shifts against what the commands print of the first so many shifts.
pub(crate) fn assert_shifts(server: &Server, place: &Plant, shifts: i64) {
    let over = begins() + TimeDelta::hours(8 * shifts);
    let printed = |command: &str| -> Vec<Value> {
        let rows: Vec<Value> = serde_json::from_str(&place.printed(&[command, "--format", "json"])).unwrap();
        rows.into_iter().filter(|row| moment(&row["ends"]).unwrap() <= over).collect()
    };
    let ours =
        |table| -> Vec<Value> { server.rows(table).into_iter().filter(|row| row["site"] == "millbrook").collect() };
    let tables = printed("shifts");
    assert!(tables.len() as i64 >= 4 * shifts, "{} rows", tables.len());
    assert_same(ours("shift"), tables, &[]);
    let records = printed("energy");
    assert_eq!(records.len() as i64, shifts);
    assert_same(ours("energy"), records, &["by", "cusum_kwh"]);
}

/// Holds rows against objects, whatever their order. `left_out` names keys that the table does not have.
pub(crate) fn assert_same(mut there: Vec<Value>, mut told: Vec<Value>, left_out: &[&str]) {
    let key = |row: &Value| {
        let text = |name: &str| row[name].to_string();
        let moment = moment(&row["starts"]).map(|moment| moment.timestamp());
        (text("line"), moment, text("product"), text("zone"), text("id"))
    };
    told.iter_mut().filter_map(Value::as_object_mut).for_each(|row| row.retain(|name, _| !left_out.contains(&&**name)));
    there.sort_by_key(key);
    told.sort_by_key(key);
    assert_eq!(there.len(), told.len(), "{there:#?}\n{told:#?}");
    for (there, told) in there.iter().zip(&told) {
        assert!(same(there, told), "there {there:#}\ntold {told:#}");
    }
}

/// Equal in every figure, however it is written.
fn same(one: &Value, other: &Value) -> bool {
    match (one, other) {
        (Value::Number(one), Value::Number(other)) => one.as_f64() == other.as_f64(),
        (Value::String(_), Value::String(_)) if moment(one).is_some() => moment(one) == moment(other),
        (Value::Array(one), Value::Array(other)) => {
            one.len() == other.len() && one.iter().zip(other).all(|(one, other)| same(one, other))
        }
        (Value::Object(one), Value::Object(other)) => {
            one.len() == other.len()
                && one.iter().all(|(name, one)| other.get(name).is_some_and(|other| same(one, other)))
        }
        _ => one == other,
    }
}

fn moment(value: &Value) -> Option<DateTime<Utc>> {
    value.as_str()?.parse().ok()
}

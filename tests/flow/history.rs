//! Invented readings, written to a file and loaded.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::time::Duration;

use bakehouse::{
    Bakery, CSV_HEADER, Draw, Opening, PlantReading, RateChange, Response, Run, Schedule, Simulation, What,
    write_csv_row,
};
use chrono::{DateTime, TimeDelta, Utc};

use crate::plant::Plant;

/// Writes readings as `backfill` takes them; gives the path.
pub(crate) fn write(place: &Plant, name: &str, readings: &[PlantReading]) -> String {
    let path = place.path(name);
    let mut file = BufWriter::new(File::create(&path).unwrap());
    writeln!(file, "{CSV_HEADER}").unwrap();
    readings.iter().for_each(|reading| write_csv_row(&mut file, reading).unwrap());
    file.flush().unwrap();
    path.to_str().unwrap().to_owned()
}

pub(crate) fn load(place: &Plant, readings: &[PlantReading]) {
    place.printed(&["backfill", &write(place, "history.csv", readings)]);
}

/// Learns the normal and the balance of T800 from all that is loaded, and uses them.
pub(crate) fn learn(place: &Plant) {
    let told = place.printed(&["learn", "--line", "tunnel-1", "--product", "T800", "--approve"]);
    assert!(told.contains("water balance learned from"), "{told}");
}

/// When [`answered`] begins.
pub(crate) fn begins() -> DateTime<Utc> {
    "2026-06-02T05:00:00Z".parse().unwrap()
}

/// How long its crews answer every change of speed.
pub(crate) const ANSWERED: TimeDelta = TimeDelta::hours(32);
/// A speed that nobody tried before, over nominal.
pub(crate) const RISE_PCT: f64 = 16.0;

/// One oven and one product, whose crews answer every change of speed for thirty-two hours.
pub(crate) fn answered() -> Vec<PlantReading> {
    baked(&answered_schedule(), begins() + ANSWERED)
}

/// The same, and after an hour at nominal speed more than a day in which the band is faster and nobody touches the oven.
pub(crate) fn answered_and_then_faster() -> Vec<PlantReading> {
    let mut schedule = answered_schedule();
    let (at, nominal) = (begins() + ANSWERED, Run::nominal("T800"));
    let faster = RateChange::sudden(RISE_PCT, TimeDelta::hours(26), Response::NoVenting);
    schedule.add("tunnel-1", at, What::Changeover { to: nominal, empty_for: TimeDelta::minutes(20) });
    schedule.add("tunnel-1", rises(), What::RateChange(faster));
    baked(&schedule, rises() + TimeDelta::hours(25))
}

/// When the band becomes faster.
pub(crate) fn rises() -> DateTime<Utc> {
    begins() + ANSWERED + TimeDelta::minutes(90)
}

fn bakery() -> Bakery {
    let mut bakery = Bakery::millbrook_single();
    bakery.lines[0].products = vec!["T800".into()];
    bakery
}

fn answered_schedule() -> Schedule {
    let draw = Draw { unmatched_per_day: 0.0, faults_per_day: 0.0, weekly_rest: false, ..Draw::default() };
    let mut schedule = Schedule::quiet();
    schedule.draw(&bakery(), &draw, 5, begins(), begins() + ANSWERED, Opening::Baking);
    schedule
}

fn baked(schedule: &Schedule, until: DateTime<Utc>) -> Vec<PlantReading> {
    Simulation::new(bakery(), schedule, 5, begins(), Duration::from_secs(20)).unwrap().until(until).collect()
}

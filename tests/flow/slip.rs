//! A normal that no longer fits is told with the shift with which it began, and stays in use.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::time::Duration;

use bakehouse::{Bakery, CSV_HEADER, PlantReading, PlantValue, Schedule, Simulation, write_csv_row};
use chrono::{DateTime, TimeDelta, Utc};

use crate::plant::{Plant, wait_for};

fn starts() -> DateTime<Utc> {
    "2026-06-02T05:00:00Z".parse().unwrap()
}

/// The beginning of the fifth shift.
fn wetter_from() -> DateTime<Utc> {
    starts() + TimeDelta::hours(32)
}

/// Two days of one product from the beginning of a shift on; with the fifth shift the oven gets wetter
/// in zone 3. Ten minutes in five hours nothing is heard, which parts the runs.
fn history() -> Vec<PlantReading> {
    let start = starts();
    let bakery = Bakery::millbrook_single();
    let mut simulation = Simulation::new(bakery, &Schedule::quiet(), 3, start, Duration::from_secs(30)).unwrap();
    let mut readings: Vec<PlantReading> = simulation.until(start + TimeDelta::minutes(48 * 60 + 10)).collect();
    readings.retain(|reading| (reading.time - start).num_minutes() % 300 >= 10);
    for reading in readings.iter_mut().filter(|reading| reading.time >= wetter_from()) {
        if let (PlantValue::Number { value, .. }, true) = (&mut reading.value, reading.topic.ends_with("z3/dew")) {
            *value += 2.5;
        }
    }
    readings
}

/// Loads readings from a file of this name.
fn load(place: &Plant, name: &str, readings: &[PlantReading]) {
    let path = place.path(name);
    let mut file = BufWriter::new(File::create(&path).unwrap());
    writeln!(file, "{CSV_HEADER}").unwrap();
    for reading in readings {
        write_csv_row(&mut file, reading).unwrap();
    }
    file.flush().unwrap();
    place.printed(&["backfill", path.to_str().unwrap()]);
}

#[test]
fn a_normal_that_slips_is_told_and_stays_in_use() {
    let place = Plant::new();
    let readings = history();
    let (before, after) = readings.split_at(readings.partition_point(|reading| reading.time < wetter_from()));
    load(&place, "before.csv", before);
    place.printed(&["learn", "--to", "2026-06-03T05:00:00Z", "--approve"]);
    let listed = place.printed(&["normals"]);
    assert!(listed.contains(" approved ") && listed.contains("  yes") && !listed.contains("slipping"), "{listed}");

    load(&place, "after.csv", after);
    let listed = place.printed(&["normals"]);
    // One day teaches little of how days differ: the shift before may seem the beginning already.
    assert!(listed.contains("slipping since 2026-06-03"), "{listed}");
    assert!(listed.contains("zone 3 1"), "zone 3 is wetter by 10 to 19 %: {listed}");
    assert!(listed.contains("ovenward learn --line tunnel-1 --product T800 --from 2026-06-03"), "{listed}");
    assert!(listed.contains(" approved "), "nobody retired it: {listed}");
    assert_eq!(place.printed(&["normals"]), listed, "what was found is kept");

    let _serving = place.serve();
    wait_for("the service to tell", || place.metric("ovenward_normals_slipping") == Some(1.0));
}

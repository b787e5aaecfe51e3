//! The run of a travelling logger, invented: laid on the zones, held against the fixed sensors of the same plant, kept
//! and compared.

use std::fs;
use std::time::Duration;

use bakehouse::{Bakery, INJECTORS_M, Schedule, Simulation, travel};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;

use crate::history::load;
use crate::plant::Plant;

const BEGINS: &str = "2026-06-02T06:00:00Z";

fn simulation() -> Simulation {
    let interval = Duration::from_secs(10);
    Simulation::new(Bakery::millbrook_single(), &Schedule::quiet(), 3, BEGINS.parse().unwrap(), interval).unwrap()
}

/// Two hours of readings in the store.
fn loaded(place: &Plant) {
    let begins: DateTime<Utc> = BEGINS.parse().unwrap();
    load(place, &simulation().until(begins + TimeDelta::hours(2)).collect::<Vec<_>>());
}

/// A run of the same plant that enters so many minutes after its beginning, under column names of its own.
fn run_file(place: &Plant, minutes: i64, dead: Option<usize>) -> String {
    let enters = BEGINS.parse::<DateTime<Utc>>().unwrap() + TimeDelta::minutes(minutes);
    let pressure = physics::air::station_pressure(physics::units::Metre(95.0)).unwrap();
    let samples = travel(&mut simulation(), 0, enters, dead, pressure).unwrap();
    let mut text = "at;air;dew\n".to_owned();
    for sample in samples {
        text += &format!("{};{:.2};{:.2}\n", sample.time.to_rfc3339(), sample.temperature_c, sample.dew_point_c);
    }
    let path = place.path(&format!("run-{minutes}.csv"));
    fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

fn reviewed(place: &Plant, file: &str, further: &[&str]) -> Value {
    let injectors = INJECTORS_M.map(|metre| metre.to_string()).join(",");
    let columns =
        ["--time-column", "at", "--temperature-column", "air", "--dew-point-column", "dew", "--separator", ";"];
    let asked = [&["transit", file, "--format", "json", "--injectors", &injectors][..], &columns, further].concat();
    serde_json::from_str(&place.printed(&asked)).unwrap()
}

#[test]
fn a_run_agrees_with_the_fixed_sensors_of_the_same_plant_and_finds_the_dead_injector() {
    let place = Plant::new();
    loaded(&place);
    let run = reviewed(&place, &run_file(&place, 60, Some(2)), &[]);
    assert_eq!((&run["product"], &run["is_whole"]), (&"T800".into(), &true.into()));
    // The simulation's band: 28 m in 24 min.
    let speed = run["band_speed_m_min"].as_f64().unwrap();
    assert!((speed / (28.0 / 24.0) - 1.0).abs() < 0.02, "{speed}");
    for zone in run["zones"].as_array().unwrap() {
        let of = |name: &str| zone[name].as_f64().unwrap_or_else(|| panic!("{name} of {zone}"));
        // Plant sensors are off by 0.4 K of dew point (one standard deviation) and 0.8 K of air temperature.
        assert!((of("sensor_moisture_pct") / of("moisture_pct") - 1.0).abs() < 0.12, "{zone}");
        assert!((of("sensor_temperature_c") - of("temperature_c")).abs() < 5.0, "{zone}");
    }
    assert_eq!(run["peak"]["zone"], 1, "{}", run["peak"]);
    assert!(run["peak"]["metre"].as_f64().unwrap() < 2.0, "{}", run["peak"]);
    let works: Vec<bool> =
        run["injectors"].as_array().unwrap().iter().map(|one| one["works"].as_bool().unwrap()).collect();
    assert_eq!(works, [true, false, true]);
    // 1.2 m at 1.17 m/min.
    assert!((run["steam_exposure_s"].as_f64().unwrap() - 61.7).abs() < 4.0, "{}", run["steam_exposure_s"]);
    assert!(run["surface"]["wetted_s"].as_f64().unwrap() > 0.0, "{}", run["surface"]);
}

#[test]
fn runs_are_kept_once_listed_and_compared() {
    let place = Plant::new();
    loaded(&place);
    let (first, second) = (run_file(&place, 40, None), run_file(&place, 80, None));
    let (a, b) = (reviewed(&place, &first, &[]), reviewed(&place, &second, &[]));
    assert_eq!(reviewed(&place, &first, &[]), a, "the same run again gives the same");
    let list = place.printed(&["transit", "list"]);
    assert_eq!(list.lines().count(), 3, "{list}");
    let (a, b) = (a["id"].as_str().unwrap(), b["id"].as_str().unwrap());
    let compared = place.printed(&["transit", "compare", a, b]);
    assert!(compared.contains("zone 4, % vol") && compared.contains("Advisory only"), "{compared}");
    let page = place.printed(&["transit", "show", a, "--format", "html"]);
    assert_eq!(page.matches("<svg").count(), 4, "{page}");
    assert!(!page.contains("<script") && !page.contains("http"), "it needs nothing else");
}

#[test]
fn what_a_run_lacks_is_said_with_what_to_write() {
    let place = Plant::new();
    let file = run_file(&place, 40, None);
    let told = |arguments: &[&str]| {
        let output = place.run(&[&["transit"], arguments].concat());
        assert!(!output.status.success(), "{arguments:?}");
        String::from_utf8(output.stderr).unwrap()
    };
    assert!(
        told(&[&file]).contains("write --separator") || told(&[&file]).contains("--time-column"),
        "{}",
        told(&[&file])
    );
    let columns =
        ["--time-column", "at", "--temperature-column", "air", "--dew-point-column", "dew", "--separator", ";"];
    let nothing_stored = told(&[&[file.as_str()][..], &columns].concat());
    assert!(nothing_stored.contains("write --speed, in m/min"), "{nothing_stored}");
    assert!(told(&["compare", "x", "y"]).contains("transit list"));
    // With the speed given, all that the run itself says is there, and the rest is named.
    let run = reviewed(&place, &file, &["--speed", "1.1667"]);
    assert!(
        run["zones"][0]["moisture_pct"].as_f64().unwrap() > 20.0 && run["zones"][0]["sensor_moisture_pct"].is_null()
    );
    assert!(run["missing"].to_string().contains("nothing is stored of the fixed sensors"), "{}", run["missing"]);
}

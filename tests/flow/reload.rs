//! A line is added while the service runs, and no reading is lost by it.

use std::fs;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::Duration;

use chrono::{TimeDelta, Utc};

use crate::plant::{Plant, wait_for};

/// Readings of the line that is there all the time, over some seconds around the reload.
const READINGS: usize = 400;
const PACE: Duration = Duration::from_millis(15);

/// A plant that speaks without a pause: one reading after the other, each with a time of its own.
fn speak(place: &Plant, topic: &str, readings: usize) {
    let port = place.broker_port.to_string();
    let mut plant = Command::new("mosquitto_pub")
        .args(["-p", &port, "-q", "1", "-l", "-t", topic])
        .stdin(Stdio::piped())
        .spawn()
        .expect("mosquitto_pub is not installed; install mosquitto-clients");
    let mut said = plant.stdin.take().unwrap();
    let began = Utc::now() - TimeDelta::hours(1);
    for number in 0..readings {
        let time = (began + TimeDelta::milliseconds(number as i64)).to_rfc3339();
        writeln!(said, "{{\"value\":1.2,\"time\":\"{time}\"}}").unwrap();
        std::thread::sleep(PACE);
    }
    drop(said);
    assert!(plant.wait().unwrap().success());
}

fn hang_up(process: u32) {
    assert!(Command::new("kill").args(["-HUP", &process.to_string()]).status().unwrap().success());
}

fn stored(place: &Plant) -> u64 {
    let described = place.run(&["store", "--format", "json"]);
    let described: serde_json::Value = serde_json::from_slice(&described.stdout).unwrap_or_default();
    described["readings"].as_u64().unwrap_or(0)
}

#[test]
fn a_line_is_added_without_the_loss_of_a_reading() {
    let place = Plant::new();
    let serving = place.serve();
    let config = fs::read_to_string(place.path("plant.toml")).unwrap();
    let second =
        config[config.find("[[line]]").unwrap()..config.find("[costs]").unwrap()].replace("tunnel-1", "tunnel-2");
    std::thread::scope(|scope| {
        let speaking = scope.spawn(|| speak(&place, "mill/tunnel-1/band", READINGS));
        wait_for("the first readings", || stored(&place) > 20);

        // A slip of the pen first: the service says so, and goes on.
        fs::write(place.path("plant.toml"), config.replace("m/min", "m/mn")).unwrap();
        hang_up(serving.0.id());
        wait_for("the fault to be told", || {
            fs::read_to_string(place.path("serve.log")).is_ok_and(|log| log.contains("is not a unit of band_speed"))
        });
        fs::write(place.path("plant.toml"), format!("{config}\n{second}")).unwrap();
        hang_up(serving.0.id());
        wait_for("the new line", || place.get("/api/v1/lines").is_some_and(|lines| lines.contains("tunnel-2")));
        speaking.join().unwrap();
    });
    wait_for("the new line to be heard", || place.metric("ovenward_broker_connected") == Some(1.0));
    speak(&place, "mill/tunnel-2/band", 5);
    wait_for("every reading of both lines", || stored(&place) == READINGS as u64 + 5);
}

//! A disk that is full, or fails: nothing is acknowledged, the service says so, and goes on by itself.

use std::fs;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use crate::disk::SmallDisk;
use crate::gate::Gate;
use crate::plant::{Plant, wait_for};
use crate::process::Running;
use crate::traffic::{Flooding, assert_nothing_lost, stored, wait_until_stored};

const NOT_STORED: &str = "readings cannot be stored, the broker keeps them meanwhile";

#[test]
fn a_full_disk_holds_everything_up_and_loses_nothing() {
    let place = Plant::new();
    let Some(disk) = SmallDisk::mount(&place.path("data")) else {
        return with_limited_files(&place);
    };
    ride_out(&place, || place.serve(), |_| disk.fill(), |_| disk.free());
}

#[test]
fn files_that_may_not_grow_hold_everything_up_and_lose_nothing() {
    with_limited_files(&Plant::new());
}

#[test]
fn a_service_begun_on_a_full_disk_waits_for_room() {
    let place = Plant::new();
    let Some(disk) = SmallDisk::mount(&place.path("data")) else { return };
    disk.fill();
    let log = fs::File::create(place.path("serve.log")).unwrap();
    let serving = place.program(&["serve"]).stdout(Stdio::null()).stderr(log).spawn().unwrap();
    let mut serving = Running(serving);
    let told = || fs::read_to_string(place.path("serve.log")).unwrap().contains("waiting for room to start");
    wait_for("the service to say that it waits", told);
    assert_eq!(serving.0.try_wait().unwrap(), None, "the service has ended");
    disk.free();
    wait_for("the service to connect", || place.metric("ovenward_broker_connected") == Some(1.0));
}

/// The same where no disk can be mounted: writing beyond a size is an I/O error.
fn with_limited_files(place: &Plant) {
    let limit = |serving: &Child, bytes: &str| {
        let limit = format!("--fsize={bytes}:unlimited");
        let limited = Command::new("prlimit").args(["--pid", &serving.id().to_string(), &limit]).status();
        assert!(limited.expect("prlimit is not installed; install util-linux").success());
    };
    ride_out(
        place,
        || deaf_to_the_limit(place),
        |serving| limit(serving, "65536"),
        |serving| limit(serving, "unlimited"),
    );
}

/// The service; the signal that tells of the limit, and would end it, is ignored.
fn deaf_to_the_limit(place: &Plant) -> Running {
    let program = place.program(&["serve"]);
    let log = fs::File::create(place.path("serve.log")).unwrap();
    let mut shell = Command::new("sh");
    shell.args(["-c", "trap '' XFSZ; exec \"$@\"", "sh"]).arg(program.get_program()).args(program.get_args());
    let serving = Running(shell.stdout(Stdio::null()).stderr(log).spawn().unwrap());
    wait_for("the service to connect", || place.metric("ovenward_broker_connected") == Some(1.0));
    serving
}

/// Lets readings flow, breaks the disk, looks that the service holds them up and says so, mends the disk, and looks
/// that every reading is stored.
fn ride_out(place: &Plant, serve: impl Fn() -> Running, break_it: impl Fn(&Child), mend_it: impl Fn(&Child)) {
    let gate = Gate::of(place);
    let mut serving = serve();
    let flooding = Flooding::of(place, 2000.0, Duration::from_secs(20));
    wait_for("readings to be stored", || place.metric("ovenward_readings_stored_total") > Some(5000.0));

    wait_for("the service to be not ready", || {
        break_it(&serving.0);
        place.get("/readyz").is_some_and(|said| said.contains(NOT_STORED))
    });
    let acknowledged = gate.acknowledged();
    // Longer than the service waits between two looks at anything.
    std::thread::sleep(Duration::from_secs(12));
    assert_eq!(gate.acknowledged(), acknowledged, "acknowledged what it could not store");
    assert_eq!(serving.0.try_wait().unwrap(), None, "the service has ended");
    assert!(status(place).contains(NOT_STORED), "{}", status(place));
    assert!(place.get("/plain").unwrap().contains(NOT_STORED));

    mend_it(&serving.0);
    let sent = flooding.acknowledged();
    wait_for("the service to be ready", || place.get("/readyz").is_some_and(|said| said == "ready"));
    wait_until_stored(place, sent.len());
    wait_for("every message to be acknowledged", || gate.acknowledged() >= sent.len());
    wait_for("the status to say so", || status(place).contains("\"problems\":[]"));
    drop(serving);
    assert_nothing_lost(&sent, &stored(place));
    let log = fs::read_to_string(place.path("serve.log")).unwrap();
    assert!(log.matches(NOT_STORED).count() <= 4, "told again and again:\n{log}");
}

/// What the service last said of itself on MQTT.
fn status(place: &Plant) -> String {
    let port = place.broker_port.to_string();
    let mut listen = Command::new("mosquitto_sub");
    listen.args(["-p", &port, "-t", "ovenward/+/status", "-C", "1", "-W", "5"]);
    let heard = listen.output().expect("mosquitto_sub is not installed; install mosquitto-clients");
    String::from_utf8(heard.stdout).unwrap()
}

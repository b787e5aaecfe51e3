//! A broker that ends: told to, it keeps what waits; killed, it loses it, and that is known.

use std::fs;
use std::process::{Command, Stdio};
use std::time::Duration;

use serde_json::Value;

use crate::plant::{Plant, wait_for};
use crate::process::{Running, mosquitto};
use crate::traffic::{Flooding, assert_nothing_lost, stored, wait_until_stored};

/// A plant whose broker can be ended, and the file that names its process.
struct Mortal {
    place: Plant,
    folder: tempfile::TempDir,
}

impl Mortal {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let place = Plant::with_broker_settings(&format!("pid_file {}/broker.pid", folder.path().display()));
        Self { place, folder }
    }

    /// Ends the broker by this signal and starts it again.
    fn restart(&self, signal: &str) -> Running {
        let process = fs::read_to_string(self.folder.path().join("broker.pid")).unwrap();
        assert!(Command::new("kill").args([signal, process.trim()]).status().unwrap().success());
        wait_for("the broker to be gone", || {
            std::net::TcpStream::connect(("127.0.0.1", self.place.broker_port)).is_err()
        });
        let config = self.place.path("mosquitto.conf");
        let again = mosquitto(&config).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        Running(again)
    }
}

#[test]
fn a_broker_that_is_restarted_loses_nothing() {
    let mortal = Mortal::new();
    let serving = mortal.place.serve();
    let flooding = Flooding::of(&mortal.place, 5000.0, Duration::from_secs(6));
    std::thread::sleep(Duration::from_secs(2));
    let _broker = mortal.restart("-TERM");
    let sent = flooding.acknowledged();
    wait_until_stored(&mortal.place, sent.len());
    drop(serving);
    assert_nothing_lost(&sent, &stored(&mortal.place));
}

#[test]
fn a_broker_that_is_killed_leaves_a_gap_that_is_known() {
    let mortal = Mortal::new();
    let serving = mortal.place.serve();
    let sent = Flooding::of(&mortal.place, 500.0, Duration::from_secs(1)).acknowledged();
    wait_until_stored(&mortal.place, sent.len());
    // It has never saved its sessions yet.
    let _broker = mortal.restart("-KILL");
    let gaps = || -> Value {
        let store: Value = serde_json::from_str(&mortal.place.printed(&["store", "--format", "json"])).unwrap();
        store["gaps"].clone()
    };
    wait_for("the gap to be shown", || gaps()[0]["cause"] == "session-lost");
    drop(serving);
    assert_nothing_lost(&sent, &stored(&mortal.place));
}

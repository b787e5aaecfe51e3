//! A mosquitto of our own, on a free port of the loopback interface.

use std::fs;
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

/// The shipped settings: what they promise is tested with them.
const SHIPPED: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../deploy/mosquitto/ovenward.conf");

/// A running broker. It ends when this is dropped.
pub(crate) struct Mosquitto {
    child: Child,
    folder: TempDir,
    pub(crate) port: u16,
}

impl Mosquitto {
    /// Starts a broker that lets everyone in.
    pub(crate) fn start() -> Self {
        Self::start_with("allow_anonymous true")
    }

    /// Starts a broker with further lines of configuration for its listener.
    pub(crate) fn start_with(extra: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        fs::write(folder.path().join("mosquitto.conf"), configuration(folder.path(), port, extra)).unwrap();
        let child = run(folder.path(), port);
        Self { child, folder, port }
    }

    /// Asks the broker to end, as a system does at a restart; it saves what it holds.
    pub(crate) fn stop(&mut self) {
        let process = self.child.id().to_string();
        assert!(Command::new("kill").args(["-TERM", &process]).status().unwrap().success());
        self.child.wait().unwrap();
    }

    /// Starts the broker again, with what it saved.
    pub(crate) fn start_again(&mut self) {
        self.child = run(self.folder.path(), self.port);
    }
}

impl Drop for Mosquitto {
    fn drop(&mut self) {
        // It may have ended already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The shipped settings without what belongs to the machine: listener, access, folder.
fn configuration(folder: &Path, port: u16, extra: &str) -> String {
    let shipped = fs::read_to_string(SHIPPED).unwrap();
    let of_the_machine = ["listener", "allow_anonymous", "password_file", "acl_file", "persistence_location"];
    let settings = shipped.lines().filter(|line| {
        let setting = line.split(' ').next().unwrap_or_default();
        !of_the_machine.contains(&setting)
    });
    let mut text = settings.collect::<Vec<_>>().join("\n");
    // Started by root, it would become a user who can't write into our folder.
    text += &format!("\nuser root\npersistence_location {}/\n", folder.display());
    text += &format!("listener {port} 127.0.0.1\n{extra}\n");
    text
}

fn run(folder: &Path, port: u16) -> Child {
    let mut child = Command::new(program())
        .arg("-c")
        .arg(folder.join("mosquitto.conf"))
        .stdout(Stdio::null())
        .stderr(Stdio::inherit())
        .spawn()
        .expect("mosquitto can't be run: install Debian's package mosquitto");
    let started = Instant::now();
    while TcpStream::connect(("127.0.0.1", port)).is_err() {
        assert_eq!(child.try_wait().unwrap(), None, "mosquitto ended at once; its message is above");
        assert!(started.elapsed() < Duration::from_secs(5), "mosquitto does not listen");
        std::thread::sleep(Duration::from_millis(10));
    }
    child
}

/// Debian puts it where only root's search path looks.
fn program() -> &'static str {
    let debian = "/usr/sbin/mosquitto";
    if Path::new(debian).exists() { debian } else { "mosquitto" }
}

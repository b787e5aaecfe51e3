//! A broker, the program and its folder, for one test.

use std::fs;
use std::net::{Ipv4Addr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

use crate::process::{Running, free_port, mosquitto, plant_config};

/// Longest wait for something that must happen.
const PATIENCE: Duration = Duration::from_secs(60);

/// One oven's plant: a folder with its config, and a broker with the settings that are shipped.
pub(crate) struct Plant {
    folder: TempDir,
    pub(crate) broker_port: u16,
    pub(crate) page_port: u16,
    _broker: Running,
}

impl Plant {
    pub(crate) fn new() -> Self {
        Self::with_broker_settings("")
    }

    /// The same with further lines of the broker's config, which overrule those before.
    pub(crate) fn with_broker_settings(further: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (broker_port, page_port) = (free_port().unwrap(), free_port().unwrap());
        let broker = start_broker(folder.path(), broker_port, further);
        fs::write(folder.path().join("plant.toml"), plant_config(broker_port, page_port)).unwrap();
        Self { folder, broker_port, page_port, _broker: broker }
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The program with this plant's config.
    pub(crate) fn program(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(program());
        command.arg("--config").arg(self.path("plant.toml")).args(arguments);
        command
    }

    /// Runs a command to its end.
    pub(crate) fn run(&self, arguments: &[&str]) -> Output {
        self.program(arguments).output().unwrap()
    }

    /// Runs a command that must succeed; gives what it printed.
    pub(crate) fn printed(&self, arguments: &[&str]) -> String {
        let output = self.run(arguments);
        assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    /// Starts the service and waits until it is connected to the broker.
    pub(crate) fn serve(&self) -> Running {
        let log = fs::File::create(self.path("serve.log")).unwrap();
        let serving = Running(self.program(&["serve"]).stdout(Stdio::null()).stderr(log).spawn().unwrap());
        wait_for("the service to connect", || self.metric("ovenward_broker_connected") == Some(1.0));
        serving
    }

    /// A figure of the running service.
    pub(crate) fn metric(&self, name: &str) -> Option<f64> {
        let metrics = self.get("/metrics")?;
        let line = metrics.lines().find(|line| line.strip_prefix(name).is_some_and(|rest| rest.starts_with(' ')))?;
        line.rsplit(' ').next()?.parse().ok()
    }

    /// The body of a page of the running service.
    pub(crate) fn get(&self, path: &str) -> Option<String> {
        use std::io::{Read, Write};
        let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, self.page_port)).ok()?;
        let port = self.page_port;
        write!(stream, "GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\r\n").ok()?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer).ok()?;
        Some(answer.split_once("\r\n\r\n")?.1.to_owned())
    }
}

/// Waits until something holds.
pub(crate) fn wait_for(what: &str, mut holds: impl FnMut() -> bool) {
    let began = Instant::now();
    while !holds() {
        assert!(began.elapsed() < PATIENCE, "waited {PATIENCE:?} for {what}");
        std::thread::sleep(Duration::from_millis(100));
    }
}

/// The program, built beside this test.
fn program() -> PathBuf {
    let test = std::env::current_exe().unwrap();
    let program = test.ancestors().nth(2).unwrap().join("ovenward");
    assert!(program.exists(), "{} is not built; build the whole workspace", program.display());
    program
}

fn start_broker(folder: &Path, port: u16, further: &str) -> Running {
    let shipped = include_str!("../../deploy/mosquitto/ovenward.conf");
    // Started by root, it would become a user who cannot write into our folder.
    // Everything that is shipped but for what belongs to the machine it is installed on.
    let of_machine = ["listener", "allow_anonymous", "password_file", "acl_file", "persistence_location"];
    let limits = shipped.lines().filter(|line| !of_machine.iter().any(|key| line.starts_with(key)));
    let mut settings: String = limits.map(|line| format!("{line}\n")).collect();
    settings += &format!(
        "user root\nlistener {port} 127.0.0.1\nallow_anonymous true\npersistence_location {}/\n{further}\n",
        folder.display()
    );
    fs::write(folder.join("mosquitto.conf"), settings).unwrap();
    let log = fs::File::create(folder.join("mosquitto.log")).unwrap();
    let broker = mosquitto(&folder.join("mosquitto.conf"))
        .stdout(Stdio::null())
        .stderr(log)
        .spawn()
        .expect("mosquitto is not installed; install the package mosquitto");
    wait_for("the broker to answer", || TcpStream::connect((Ipv4Addr::LOCALHOST, port)).is_ok());
    Running(broker)
}

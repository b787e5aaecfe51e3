//! What it takes to run a broker and the program beside each other: also used by the benchmark of detection.

use std::io;
use std::net::{Ipv4Addr, TcpListener};
use std::path::Path;
use std::process::{Child, Command};

/// A process that ends with its owner.
pub(crate) struct Running(pub(crate) Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// A port on which nobody listens.
pub(crate) fn free_port() -> io::Result<u16> {
    Ok(TcpListener::bind((Ipv4Addr::LOCALHOST, 0))?.local_addr()?.port())
}

/// The broker with this config. Debian puts it where not every user's PATH leads.
pub(crate) fn mosquitto(config: &Path) -> Command {
    let installed = ["/usr/sbin/mosquitto", "/usr/local/sbin/mosquitto"].into_iter().find(|at| Path::new(at).exists());
    let mut command = Command::new(installed.unwrap_or("mosquitto"));
    command.arg("-c").arg(config);
    command
}

/// The config of the test day's plant, with this broker and this page.
pub(crate) fn plant_config(broker_port: u16, page_port: u16) -> String {
    let config = include_str!("../../config/test-day.toml")
        .replace("mqtt://127.0.0.1:1883", &format!("mqtt://127.0.0.1:{broker_port}"));
    format!("{config}\n[console]\nbind = \"127.0.0.1:{page_port}\"\n")
}

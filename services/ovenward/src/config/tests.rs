#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::{Path, PathBuf};

use super::*;

mod damage;
mod examples;
mod faulty;
mod meaning;
mod notify;

/// The folder `config/` of the repository.
fn examples_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../config")
}

fn example() -> String {
    fs::read_to_string(examples_folder().join("plant.toml")).unwrap()
}

fn read(text: &str) -> Result<Settings, ConfigFaults> {
    parse(text, Path::new("plant.toml"))
}

/// The smallest config there is.
const SMALLEST: &str = r#"
[site]
id = "millbrook"
time_zone = "Europe/London"
elevation_m = 95

[broker]
url = "mqtt://127.0.0.1:1883"

[[product]]
code = "T800"

[[line]]
id = "tunnel-1"
firing = "direct"

[line.signals]
band_speed = "mill/{line}/band"

[[line.zone]]
length_m = 7.0

[line.zone.signals]
dew_point = "mill/{line}/z{zone}/dew"
"#;

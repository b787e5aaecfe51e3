//! What a run leaves for other methods, and what they leave for the report.

use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use detection_benchmark::event::Alarm;
use detection_benchmark::score::Score;
use detection_benchmark::stream::Outcome;
use reading::{RunningState, Window};

/// The file of windows of the n-th oven: one row each, nothing where nothing is known.
pub(crate) struct WindowFile {
    out: BufWriter<File>,
    failed: Option<std::io::Error>,
}

impl WindowFile {
    pub(crate) fn create(folder: &Path, nth: usize, zones: usize) -> Result<Self> {
        fs::create_dir_all(folder).with_context(|| format!("can't create {}", folder.display()))?;
        let path = folder.join(format!("windows-{nth}.csv"));
        let file = File::create(&path).with_context(|| format!("can't create {}", path.display()))?;
        let mut out = BufWriter::new(file);
        write!(out, "ends_us,baking,product,speed,steam")?;
        for name in ["humidity", "temperature", "damper"] {
            (1..=zones).try_for_each(|zone| write!(out, ",{name}_{zone}"))?;
        }
        writeln!(out)?;
        Ok(Self { out, failed: None })
    }

    /// Writes a window; a fault is kept until the end.
    pub(crate) fn keep(&mut self, window: &Window) {
        if self.failed.is_none() {
            self.failed = self.write(window).err();
        }
    }

    pub(crate) fn finish(mut self) -> Result<()> {
        self.failed.map_or(Ok(()), Err)?;
        Ok(self.out.flush()?)
    }

    fn write(&mut self, window: &Window) -> std::io::Result<()> {
        let baking = u8::from(window.state == RunningState::Baking);
        let product = window.product.as_deref().unwrap_or("");
        write!(self.out, "{},{baking},{product}", window.ends.0)?;
        let zones = || window.zones.iter();
        let line = [window.band_speed.map(|speed| speed.0), window.steam_flow];
        let humidity = zones().map(|zone| zone.humidity.map(|ratio| ratio.0));
        let temperature = zones().map(|zone| zone.air_temperature.map(|temperature| temperature.0));
        let damper = zones().map(|zone| zone.exhaust_damper);
        for value in line.into_iter().chain(humidity).chain(temperature).chain(damper) {
            match value {
                Some(value) => write!(self.out, ",{value:.5}")?,
                None => write!(self.out, ",")?,
            }
        }
        writeln!(self.out)
    }
}

/// Writes labels and alarms of all ovens, and the false alarms that other methods are granted.
pub(crate) fn write_outcomes(folder: &Path, outcomes: &[Outcome]) -> Result<()> {
    let path = outcomes_path(folder);
    let file = File::create(&path).with_context(|| format!("can't create {}", path.display()))?;
    serde_json::to_writer(BufWriter::new(file), outcomes)?;
    let budget = Score::of(outcomes, |outcome| &outcome.alarms).budget();
    fs::write(folder.join("budget"), budget.to_string()).context("can't write the budget")
}

/// Reads what [`write_outcomes`] wrote.
pub(crate) fn read_outcomes(folder: &Path) -> Result<Vec<Outcome>> {
    read(&outcomes_path(folder))
}

/// Reads the alarms that other methods raised on the recorded windows.
pub(crate) fn read_alarms(folder: &Path) -> Result<Vec<Alarm>> {
    read(&folder.join("alarms.json"))
}

fn outcomes_path(folder: &Path) -> PathBuf {
    folder.join("outcomes.json")
}

fn read<T: serde::de::DeserializeOwned>(path: &Path) -> Result<T> {
    let text = fs::read_to_string(path).with_context(|| format!("can't read {}", path.display()))?;
    serde_json::from_str(&text).with_context(|| format!("{} is not as this program writes it", path.display()))
}

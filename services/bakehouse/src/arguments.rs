//! What can be asked for on the command line.

use std::fs::File;
use std::io::BufWriter;
use std::path::{Path, PathBuf};
use std::time::Duration;

use anyhow::{Context, Result, ensure};
use bakehouse::{Bakery, BrokerAddress, Draw, Event, PayloadStyle, Schedule, Shift, Simulation, What, write_labels};
use chrono::{DateTime, TimeDelta, Utc};
use clap::{Args, Parser, Subcommand, ValueEnum};

/// An invented bakery that speaks MQTT like a plant.
#[derive(Debug, Parser)]
#[command(version)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Publishes readings over MQTT, at the plant's pace or faster.
    Publish(Publish),
    /// Writes readings to a CSV file.
    Csv(Csv),
    /// Writes the run of a logger that travels through an oven to a CSV file.
    Transit(Transit),
    /// Floods a broker; records what it acknowledged, if asked to.
    Flood(Flood),
}

#[derive(Debug, Args)]
pub(crate) struct Publish {
    #[command(flatten)]
    pub(crate) plant: Plant,
    /// Where to publish, such as mqtt://127.0.0.1:1883.
    #[arg(long)]
    pub(crate) broker: BrokerAddress,
    /// When the simulated time begins (RFC 3339). Without it, now at the plant's own pace, and so
    /// far back at a faster one that it ends at the present.
    #[arg(long)]
    pub(crate) from: Option<DateTime<Utc>>,
    /// How many simulated hours. Without it, 240 at a faster pace, and 960 at the plant's own.
    #[arg(long)]
    pub(crate) hours: Option<f64>,
    /// How much faster than the plant (1 to 1000).
    #[arg(long, default_value_t = 1.0)]
    pub(crate) speed: f64,
    /// How payloads are written.
    #[arg(long, value_enum, default_value_t = Payload::Json)]
    pub(crate) payload: Payload,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Payload {
    /// An object with value, time and quality.
    Json,
    /// The bare value.
    Number,
}

impl From<Payload> for PayloadStyle {
    fn from(payload: Payload) -> Self {
        match payload {
            Payload::Json => Self::Json,
            Payload::Number => Self::Number,
        }
    }
}

#[derive(Debug, Args)]
pub(crate) struct Flood {
    /// Where to publish, such as mqtt://127.0.0.1:1883.
    #[arg(long)]
    pub(crate) broker: BrokerAddress,
    /// Readings a second.
    #[arg(long, default_value_t = 2000.0)]
    pub(crate) rate: f64,
    /// For how many seconds.
    #[arg(long, default_value_t = 30.0)]
    pub(crate) seconds: f64,
    /// How many ovens send: tunnel-1, tunnel-2 and so on, all alike.
    #[arg(long, default_value_t = 1)]
    pub(crate) lines: usize,
    /// How many zones each has.
    #[arg(long, default_value_t = 4)]
    pub(crate) zones: usize,
    /// Over how many of their topics; all numeric ones without it.
    #[arg(long)]
    pub(crate) topics: Option<usize>,
    /// The time of the first reading (RFC 3339); now without it.
    #[arg(long)]
    pub(crate) from: Option<DateTime<Utc>>,
    /// How much faster than time the plant's clock runs.
    #[arg(long, default_value_t = 1.0)]
    pub(crate) speed: f64,
    /// How payloads are written.
    #[arg(long, value_enum, default_value_t = Payload::Json)]
    pub(crate) payload: Payload,
    /// Where to record what the broker acknowledged, as CSV: time, tag, value. Nothing is recorded without it.
    #[arg(long)]
    pub(crate) acknowledged: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Csv {
    #[command(flatten)]
    pub(crate) plant: Plant,
    /// When the first reading is taken (RFC 3339).
    #[arg(long)]
    pub(crate) from: DateTime<Utc>,
    /// How many days, parts of days included.
    #[arg(long, default_value_t = 10.0)]
    pub(crate) days: f64,
    /// Where to write the readings.
    #[arg(long)]
    pub(crate) out: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct Transit {
    #[command(flatten)]
    pub(crate) plant: Plant,
    /// When the simulation begins (RFC 3339): as in `csv`, so that both tell of the same plant.
    #[arg(long)]
    pub(crate) from: DateTime<Utc>,
    /// How many days are planned: as in `csv`.
    #[arg(long, default_value_t = 10.0)]
    pub(crate) days: f64,
    /// Which oven.
    #[arg(long, default_value = "tunnel-1")]
    pub(crate) line: String,
    /// When the logger enters it (RFC 3339).
    #[arg(long)]
    pub(crate) enters: DateTime<Utc>,
    /// A steam injector, 1 to 3, that gives nothing.
    #[arg(long, value_name = "N")]
    pub(crate) dead_injector: Option<usize>,
    /// Where to write the run.
    #[arg(long)]
    pub(crate) out: PathBuf,
}

/// Which bakery runs, and what happens in it.
#[derive(Debug, Args)]
pub(crate) struct Plant {
    #[arg(long, value_enum, default_value_t = Which::Demo)]
    bakery: Which,
    /// Seconds between two readings of a signal (1 to 60).
    #[arg(long, default_value_t = 10.0)]
    interval: f64,
    /// The same seed gives the same readings.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Rises a day and line that no crew matches.
    #[arg(long, default_value_t = 0.3)]
    unmatched_per_day: f64,
    /// Steam on every line throughout, % more than what crews set, below 0 less (-100 to 300): ovens that differ from
    /// others of their kind.
    #[arg(long, default_value_t = 0.0, allow_negative_numbers = true)]
    steam_by_pct: f64,
    /// Where to write what really happened, one JSON event a line.
    #[arg(long)]
    labels: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Which {
    /// All three ovens.
    Demo,
    /// One oven of four zones.
    #[value(name = "tunnel-1")]
    Tunnel1,
}

impl Plant {
    /// What stands there.
    pub(crate) fn bakery(&self) -> Bakery {
        match self.bakery {
            Which::Demo => Bakery::demo(),
            Which::Tunnel1 => Bakery::millbrook_single(),
        }
    }

    /// Starts the bakery, and writes the labels if asked to.
    pub(crate) fn start(&self, from: DateTime<Utc>, lasts: TimeDelta) -> Result<Simulation> {
        let bakery = self.bakery();
        let draw = Draw { unmatched_per_day: self.unmatched_per_day, ..Draw::default() };
        let mut schedule = Schedule::drawn(&bakery, &draw, self.seed, from, from + lasts);
        if self.steam_by_pct != 0.0 {
            let by_pct = self.steam_by_pct;
            ensure!((-100.0..=300.0).contains(&by_pct), "--steam-by-pct {by_pct} is not within -100 to 300");
            for line in &bakery.lines {
                let (shift, over) = (Shift::Steam { by_pct }, TimeDelta::seconds(1));
                schedule.add(&line.id, from, What::Disturbance { shift, over, lasts });
            }
        }
        if let Some(path) = &self.labels {
            write_labels_to(path, &schedule.events())?;
        }
        let interval = Duration::try_from_secs_f64(self.interval)
            .with_context(|| format!("--interval {} is no time", self.interval))?;
        Simulation::new(bakery, &schedule, self.seed, from, interval)
    }
}

fn write_labels_to(path: &Path, events: &[Event]) -> Result<()> {
    let file = File::create(path).with_context(|| format!("can't create {}", path.display()))?;
    write_labels(BufWriter::new(file), events).with_context(|| format!("can't write {}", path.display()))?;
    tracing::info!(events = events.len(), file = %path.display(), "labels written");
    Ok(())
}

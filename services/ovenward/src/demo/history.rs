//! Three days of history: simulated, stored, and learned from, before the demo goes live; the water balances after that,
//! for they take longer than anybody wants to wait.

use std::sync::Arc;

use anyhow::Result;
use bakehouse::{PlantReading, PlantValue, Simulation};
use chrono::{DateTime, Utc};
use reading::{LineIndex, Quality, Reading, SignalMap, Value, Window, WindowBuilder};
use store::Store;

use crate::commands;
use crate::config::Settings;
use crate::normal_files::NormalFiles;

/// Readings handed to the store at a time.
const CHUNK: usize = 100_000;

/// What was baked and learned before the demo goes live.
pub(super) struct Baked {
    /// A line for each normal.
    pub(super) told: Vec<String>,
    /// What the balances are learned from, line by line.
    windows: Vec<Vec<Window>>,
}

/// Fills the store up to `until`, and approves a normal for every product that was baked enough.
pub(super) fn bake_and_learn(settings: &Settings, simulation: &mut Simulation, until: DateTime<Utc>) -> Result<Baked> {
    let plant = Arc::new(settings.plant.clone());
    let store = Store::open(&settings.data_dir, &plant)?;
    let count = plant.lines.len();
    let mut builders: Vec<WindowBuilder> =
        (0..count).map(|line| WindowBuilder::new(plant.clone(), LineIndex(line), settings.detection.window)).collect();
    let mut windows: Vec<Vec<Window>> = vec![Vec::new(); count];
    let mut chunk = Vec::with_capacity(CHUNK);
    for reading in simulation.until(until).filter_map(|said| reading(&plant.signals, &said)) {
        let line = plant.signals.get(reading.signal).line.0;
        builders[line].push(&reading);
        windows[line].extend(std::iter::from_fn(|| builders[line].next_closed()));
        chunk.push(reading);
        if chunk.len() == CHUNK {
            store.load(&chunk)?;
            chunk.clear();
        }
    }
    store.load(&chunk)?;
    let told = learn(settings, &windows, &until.to_rfc3339())?;
    Ok(Baked { told, windows })
}

impl Baked {
    /// Learns the balances on a thread of its own, which ends with the program.
    pub(super) fn learn_balances(self, settings: Settings) -> Result<()> {
        let learn = move || -> Result<()> {
            let plant = Arc::new(settings.plant.clone());
            for ((line, _), normal) in NormalFiles::new(&settings.data_dir).approved(&plant)? {
                let told = commands::learn_balance(&settings, &normal, &self.windows[line.0])?;
                tracing::info!("{}: {told}", normal.key());
            }
            Ok(())
        };
        std::thread::Builder::new().name("demo-balances".into()).spawn(move || {
            if let Err(error) = learn() {
                tracing::error!("the demo's balances were not learned: {error:#}");
            }
        })?;
        Ok(())
    }
}

fn learn(settings: &Settings, windows: &[Vec<Window>], now: &str) -> Result<Vec<String>> {
    let files = NormalFiles::new(&settings.data_dir);
    let mut told = Vec::new();
    for (index, windows) in windows.iter().enumerate() {
        for product in commands::products(windows, None) {
            let line = LineIndex(index);
            told.push(match commands::learn_product(settings, &files, line, &product, windows)? {
                Ok(normal) => {
                    files.approve(&normal.key().to_string(), "demo", now)?;
                    let record = normal.record();
                    let rises = record.rises.as_ref().map_or(0, |rises| rises.used);
                    format!("{}: learned from {:.0} h of baking, {rises} rises", normal.key(), record.data.hours)
                }
                Err(why) => format!("{}/{product}: {why}", settings.plant.lines[index].id),
            });
        }
    }
    Ok(told)
}

fn reading(signals: &SignalMap, said: &PlantReading) -> Option<Reading> {
    let value = match &said.value {
        PlantValue::Number { value, decimals } => {
            // As the transmitter prints it, which is what comes over MQTT.
            let scale = 10_f64.powi(i32::from(*decimals));
            Value::Number((value * scale).round() / scale)
        }
        PlantValue::Text(text) => Value::Text(text.clone()),
    };
    Some(Reading { signal: signals.of_tag(&said.topic)?, time: said.time.into(), value, quality: Quality::Good })
}

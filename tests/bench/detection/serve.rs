//! From the publish of the deciding reading to the alert on MQTT, through a broker and `ovenward serve`.
//!
//! Detection is run over the readings first, which tells the reading that decides each alert. Then they
//! are published faster than they were taken; before each deciding one and after it the plant is silent
//! for a moment, so that nothing waits in front of it.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant, SystemTime};

use alert::{DetectionSettings, LineEvent, Normals, Watch};
use anyhow::{Context, Result, bail};
use bakehouse::{
    Bakery, BrokerAddress, Clock, PayloadStyle, PlantReading, PublishOptions, RateChange, Response, Schedule,
    Simulation, What,
};
use chrono::{DateTime, TimeDelta, Utc};
use detection_benchmark::plant;
use reading::Timestamp;
use serde::Deserialize;

use crate::load::percentile;
use crate::process::{Running, free_port, mosquitto, plant_config};

/// How much faster than taken readings are published.
const SPEED: f64 = 1500.0;
/// Rises that nobody meets: an alert each.
const RISES: i32 = 100;
const EVERY: TimeDelta = TimeDelta::minutes(80);
const LASTS: TimeDelta = TimeDelta::minutes(45);
/// Silence of the plant before and after a deciding reading, ms.
const SILENCE_MS: f64 = 400.0;

/// Runs this `ovenward` beside a broker of its own, and tells how long alerts take.
///
/// # Errors
/// The bakery cannot be simulated, or broker or program cannot be run.
pub(crate) fn run(program: &Path, out: &mut impl Write) -> Result<()> {
    let started = DateTime::<Utc>::from(SystemTime::now()) - EVERY * (RISES + 4);
    let mut readings = readings(started)?;
    let deciding = deciding(&readings);
    hold_back(&mut readings, &deciding);
    let sent: Vec<(DateTime<Utc>, Timestamp)> =
        deciding.iter().map(|&(index, raised)| (readings[index].sent, raised)).collect();

    let folder = tempfile::tempdir()?;
    let (broker_port, page_port) = (free_port()?, free_port()?);
    let _broker = broker(folder.path(), broker_port)?;
    let _service = service(program, folder.path(), broker_port, page_port)?;
    let mut listener = start(
        Command::new("mosquitto_sub")
            .args(["-h", "127.0.0.1", "-q", "1", "-t", "ovenward/millbrook/+/alert-log", "-p"])
            .arg(broker_port.to_string())
            .stdout(Stdio::piped()),
    )?;
    let lines = listener.0.stdout.take().context("mosquitto_sub has no output")?;
    let heard = std::thread::spawn(move || {
        BufReader::new(lines).lines().map_while(Result::ok).map(|line| (Instant::now(), line)).collect::<Vec<_>>()
    });
    std::thread::sleep(Duration::from_secs(2));

    let options = PublishOptions {
        broker: BrokerAddress { host: "127.0.0.1".into(), port: broker_port },
        client_id: "bakehouse".into(),
        style: PayloadStyle::Json,
    };
    let runtime = tokio::runtime::Runtime::new()?;
    let count = readings.len();
    let began = Instant::now();
    runtime.block_on(async {
        let (_keep, stop) = tokio::sync::watch::channel(false);
        bakehouse::publish(readings.into_iter(), &options, Clock::starting_now(started, SPEED), stop).await
    });
    std::thread::sleep(Duration::from_secs(3));
    drop(listener);
    let Ok(heard) = heard.join() else { bail!("listening failed") };
    let mut took: Vec<Duration> =
        sent.iter().filter_map(|(sent, raised)| latency(began, *sent - started, *raised, &heard)).collect();
    took.sort();
    writeln!(
        out,
        "{count} readings through broker and service in {:.0} s; {} of {} alerts heard, p50 {:.1} ms, p99 {:.1} ms, \
         longest {:.1} ms",
        began.elapsed().as_secs_f64(),
        took.len(),
        deciding.len(),
        percentile(&took, 0.5),
        percentile(&took, 0.99),
        percentile(&took, 1.0)
    )?;
    Ok(())
}

#[derive(Deserialize)]
struct Heard {
    raised: Timestamp,
}

/// From the moment at which the deciding reading was due to the first message about its alert.
fn latency(began: Instant, after: TimeDelta, raised: Timestamp, heard: &[(Instant, String)]) -> Option<Duration> {
    let due = began + Duration::from_secs_f64(after.num_milliseconds() as f64 / 1e3 / SPEED);
    let is_it = |line: &str| serde_json::from_str::<Heard>(line).is_ok_and(|heard| heard.raised == raised);
    let (at, _) = heard.iter().find(|(_, line)| is_it(line))?;
    Some(at.saturating_duration_since(due))
}

fn readings(from: DateTime<Utc>) -> Result<Vec<PlantReading>> {
    let bakery = Bakery::millbrook_single();
    let mut schedule = Schedule::quiet();
    for nth in 1..=RISES {
        let rise = RateChange::sudden(14.0, LASTS, Response::NoVenting);
        schedule.add(&bakery.lines[0].id, from + EVERY * nth, What::RateChange(rise));
    }
    let mut simulation = Simulation::new(bakery, &schedule, 1, from, Duration::from_secs(20))?;
    Ok(simulation.until(from + EVERY * (RISES + 1)).collect())
}

/// The index of the reading that decides each alert, and when the alert is raised.
fn deciding(readings: &[PlantReading]) -> Vec<(usize, Timestamp)> {
    let plant = Arc::new(plant::plant(&Bakery::millbrook_single()));
    let mut watch = Watch::new(plant.clone(), Normals::new(), DetectionSettings::default());
    let mut deciding = Vec::new();
    for (index, said) in readings.iter().enumerate() {
        let Some(reading) = plant::reading(&plant.signals, said) else { continue };
        for event in watch.push(&reading) {
            if let LineEvent::Raised(alert) = event.what {
                deciding.push((index, alert.raised));
            }
        }
    }
    deciding
}

/// Lays a silence before and after each deciding reading.
fn hold_back(readings: &mut [PlantReading], deciding: &[(usize, Timestamp)]) {
    let silence = TimeDelta::milliseconds((SILENCE_MS * SPEED) as i64);
    let mut next = deciding.iter().map(|(index, _)| *index).peekable();
    let mut held = TimeDelta::zero();
    for (index, reading) in readings.iter_mut().enumerate() {
        let decides = next.next_if_eq(&index).is_some();
        if decides {
            held += silence;
        }
        reading.sent += held;
        if decides {
            held += silence;
        }
    }
}

fn start(command: &mut Command) -> Result<Running> {
    Ok(Running(command.spawn().with_context(|| format!("can't run {:?}", command.get_program()))?))
}

/// Waits until somebody answers on this port.
fn wait_for(port: u16) -> Result<()> {
    for _ in 0..200 {
        if TcpStream::connect((Ipv4Addr::LOCALHOST, port)).is_ok() {
            return Ok(());
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    bail!("nobody answers on port {port}")
}

fn broker(folder: &Path, port: u16) -> Result<Running> {
    let config = folder.join("mosquitto.conf");
    fs::write(&config, format!("user root\nlistener {port} 127.0.0.1\nallow_anonymous true\n"))?;
    let broker = start(mosquitto(&config).stdout(Stdio::null()).stderr(Stdio::null()))?;
    wait_for(port)?;
    Ok(broker)
}

fn service(program: &Path, folder: &Path, broker_port: u16, page_port: u16) -> Result<Running> {
    let path = folder.join("plant.toml");
    fs::write(&path, plant_config(broker_port, page_port))?;
    let log = fs::File::create(folder.join("serve.log"))?;
    let mut command = Command::new(program);
    let service = start(command.arg("--config").arg(path).arg("serve").stdout(Stdio::null()).stderr(log))?;
    wait_for(page_port)?;
    std::thread::sleep(Duration::from_secs(2));
    Ok(service)
}

//! `ovenward demo`: a whole invented bakery on one machine.
//!
//! Only the plant is simulated. Its readings come over a real broker, into the service as it runs
//! in a bakery, with a history that was learned by the code that learns anywhere.

mod history;
mod inner_broker;
mod narrator;

use std::io::Write;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use anyhow::{Context, ensure};
use bakehouse::{Bakery, BrokerAddress, Clock, PayloadStyle, PublishOptions, Schedule, Simulation};
use chrono::{DateTime, DurationRound, TimeDelta, Utc};
use clap::Args;
use store::Store;
use tokio::sync::watch;

use crate::config::{self, Settings};
use crate::failure::Failure;
use crate::service::{self, PlantClock};

/// The plant of the demo.
const PLANT: &str = include_str!("../../../config/demo.toml");
/// The broker that the plant's config names; the demo puts its own in its place.
const PLANT_BROKER: &str = "mqtt://127.0.0.1:1883";
/// The same bakery at every start.
const SEED: u64 = 20;
/// How often each signal is read.
const INTERVAL: Duration = Duration::from_secs(10);
/// Marks a folder as one that the demo may empty.
const MARK: &str = "ovenward-demo";

/// How the demo runs.
#[derive(Debug, Args)]
pub struct DemoArguments {
    /// How many times faster than time the bakery runs.
    #[arg(long, default_value_t = 60.0, value_name = "N")]
    speed: f64,
    /// Port of the status page on 127.0.0.1; 0 takes any that is free.
    #[arg(long, default_value_t = 8080)]
    port: u16,
    /// Where the demo keeps its data; what an earlier demo left there is removed.
    #[arg(long, value_name = "DIR")]
    dir: Option<PathBuf>,
}

/// Runs the demo until Ctrl-C.
///
/// # Errors
/// A wrong speed, a folder that is not the demo's, a port that is taken, or a part that failed.
pub fn run(arguments: &DemoArguments, out: &mut dyn Write) -> Result<(), Failure> {
    if !(1.0..=1000.0).contains(&arguments.speed) {
        return Err(Failure::usage(format!("--speed {} is not 1 to 1000", arguments.speed)));
    }
    let began = Instant::now();
    let folder = arguments.dir.clone().unwrap_or_else(|| std::env::temp_dir().join("ovenward-demo"));
    prepare(&folder)?;
    let broker_port = free_port()?;
    let settings = settings(&folder, broker_port, arguments.port)?;
    writeln!(out, "An invented bakery: {} ovens of {}.", settings.plant.lines.len(), settings.plant.name)?;
    writeln!(out, "Three days of history are baked and learned ...")?;
    out.flush()?;

    let start =
        DateTime::<Utc>::from(std::time::SystemTime::now()).duration_trunc(TimeDelta::minutes(1)).context("clock")?;
    let schedule = Schedule::demo(SEED, start);
    let begins = start - bakehouse::DEMO_HISTORY;
    let mut simulation = Simulation::new(Bakery::demo(), &schedule, SEED, begins, INTERVAL)?;
    let learned = history::bake_and_learn(&settings, &mut simulation, start)?;
    for line in &learned.told {
        writeln!(out, "  {line}")?;
    }
    inner_broker::start(SocketAddr::from((Ipv4Addr::LOCALHOST, broker_port)))?;
    let page = settings.console.bind;
    writeln!(out, "\nUp after {:.0} s.", began.elapsed().as_secs_f64())?;
    writeln!(out, "  look at    http://{page}/")?;
    writeln!(out, "  listen to  mosquitto_sub -p {broker_port} -t 'ovenward/#' -v")?;
    writeln!(out, "  data in    {}", folder.display())?;
    let asked = "rate --line tunnel-1 --product T800 --speed 1.35";
    writeln!(out, "  ask        ovenward --config {}/plant.toml {asked}", folder.display())?;
    let speed = arguments.speed;
    writeln!(out, "The bakery runs {speed} times as fast as time. Ctrl-C ends it.")?;
    for line in narrator::foretell(&schedule.events(), start, speed) {
        writeln!(out, "  {line}")?;
    }
    writeln!(out)?;
    out.flush()?;
    learned.learn_balances(settings.clone())?;
    let runtime = tokio::runtime::Runtime::new()?;
    runtime.block_on(live(settings, simulation, start, speed, broker_port, out))?;
    // The inner broker has no end of its own; nothing is worth waiting for any more.
    runtime.shutdown_timeout(Duration::from_millis(200));
    Ok(())
}

async fn live(
    settings: Settings,
    mut simulation: Simulation,
    start: DateTime<Utc>,
    speed: f64,
    broker_port: u16,
    out: &mut dyn Write,
) -> anyhow::Result<()> {
    let clock = PlantClock::simulated(start.into(), speed);
    let (stopping, stopped) = watch::channel(false);
    let options = PublishOptions {
        broker: BrokerAddress { host: Ipv4Addr::LOCALHOST.to_string(), port: broker_port },
        client_id: "bakehouse".into(),
        style: PayloadStyle::Json,
    };
    let plant_stopped = stopped.clone();
    let plant = tokio::spawn(async move {
        let days = TimeDelta::days(40);
        let pace = Clock::starting_now(start, speed);
        bakehouse::publish(simulation.until(start + days), &options, pace, plant_stopped).await
    });
    let plant_data = Arc::new(settings.plant.clone());
    let alerts = Store::open(&settings.data_dir, &plant_data)?;
    let mut until_stop = stopped.clone();
    let service = service::run(settings, clock, async move {
        let _ = until_stop.wait_for(|stop| *stop).await;
    });
    let told = narrator::tell(&alerts, &plant_data, start.into(), out);
    let ended = tokio::select! {
        ended = service_until_interrupt(service, &stopping) => ended,
        told = told => told,
    };
    stopping.send_replace(true);
    let _ = tokio::time::timeout(Duration::from_secs(1), plant).await;
    ended
}

/// Runs the service until Ctrl-C, and then until it has come to its end.
async fn service_until_interrupt(
    service: impl Future<Output = anyhow::Result<()>>,
    stopping: &watch::Sender<bool>,
) -> anyhow::Result<()> {
    tokio::pin!(service);
    tokio::select! {
        ended = &mut service => return ended,
        _ = tokio::signal::ctrl_c() => stopping.send_replace(true),
    };
    service.await
}

fn settings(folder: &Path, broker_port: u16, page_port: u16) -> Result<Settings, Failure> {
    let text = PLANT.replace(PLANT_BROKER, &format!("mqtt://127.0.0.1:{broker_port}"));
    let mut settings = config::parse(&text, &folder.join("plant.toml")).map_err(Failure::Config)?;
    settings.data_dir = folder.join("data");
    let port = if page_port == 0 { free_port()? } else { page_port };
    settings.console.bind = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
    std::fs::write(folder.join("plant.toml"), text)?;
    Ok(settings)
}

/// Empties the folder of an earlier demo; touches no other.
fn prepare(folder: &Path) -> anyhow::Result<()> {
    let mark = folder.join(MARK);
    let occupied = folder.read_dir().is_ok_and(|mut entries| entries.next().is_some());
    if occupied {
        ensure!(mark.exists(), "{} is not empty and not a demo's; choose another --dir", folder.display());
        std::fs::remove_dir_all(folder).with_context(|| format!("cannot empty {}", folder.display()))?;
    }
    std::fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
    std::fs::write(mark, "The demo of ovenward empties this folder when it starts.\n")?;
    Ok(())
}

fn free_port() -> anyhow::Result<u16> {
    Ok(TcpListener::bind((Ipv4Addr::LOCALHOST, 0))?.local_addr()?.port())
}

//! `bakehouse publish` and `bakehouse flood`: readings over MQTT until they end or Ctrl-C.

use std::fs::File;
use std::io::BufWriter;
use std::time::{Duration, SystemTime};

use anyhow::{Context, Result, ensure};
use bakehouse::{Clock, Delivered, PublishOptions};
use chrono::{DateTime, TimeDelta, Utc};
use tokio::sync::watch;

use crate::arguments::{Flood, Publish};

/// Simulated hours that are published if nobody says how many.
const REAL_TIME_HOURS: f64 = 960.0;
const FASTER_HOURS: f64 = 240.0;

pub(crate) async fn publish(asked: &Publish) -> Result<()> {
    ensure!((1.0..=1000.0).contains(&asked.speed), "--speed {} is not 1 to 1000", asked.speed);
    let faster = asked.speed > 1.0;
    let hours = asked.hours.unwrap_or(if faster { FASTER_HOURS } else { REAL_TIME_HOURS });
    let lasts = TimeDelta::milliseconds((hours * 3_600_000.0) as i64);
    let now = DateTime::<Utc>::from(SystemTime::now());
    let from = asked.from.unwrap_or(if faster { now - lasts } else { now });
    let mut simulation = asked.plant.start(from, lasts)?;
    let options = PublishOptions {
        broker: asked.broker.clone(),
        client_id: format!("bakehouse-{}", std::process::id()),
        style: asked.payload.into(),
    };
    tracing::info!(%from, until = %(from + lasts), speed = asked.speed, "publishing");
    let clock = Clock::starting_now(from, asked.speed);
    let readings = simulation.until(from + lasts);
    let (stop, stopped) = watch::channel(false);
    let work = bakehouse::publish(readings, &options, clock, stopped);
    report(until_interrupt(work, &stop).await);
    Ok(())
}

pub(crate) async fn flood(asked: &Flood) -> Result<()> {
    let flood = bakehouse::Flood {
        broker: asked.broker.clone(),
        rate: asked.rate,
        lasts: Duration::try_from_secs_f64(asked.seconds)
            .with_context(|| format!("--seconds {} is no time", asked.seconds))?,
        lines: asked.lines,
        zones: asked.zones,
        topics: asked.topics,
        speed: asked.speed,
        style: asked.payload.into(),
    };
    let start = asked.from.unwrap_or_else(|| SystemTime::now().into());
    let (stop, stopped) = watch::channel(false);
    let work = async {
        let Some(path) = &asked.acknowledged else { return flood.run_unrecorded(start, stopped).await };
        let file = File::create(path).with_context(|| format!("can't create {}", path.display()))?;
        flood.run(start, BufWriter::new(file), stopped).await
    };
    report(until_interrupt(work, &stop).await?);
    Ok(())
}

/// Lets work run to its end, and tells it to stop when Ctrl-C is pressed.
async fn until_interrupt<T>(work: impl Future<Output = T>, stop: &watch::Sender<bool>) -> T {
    tokio::pin!(work);
    tokio::select! {
        done = &mut work => return done,
        _ = tokio::signal::ctrl_c() => stop.send_replace(true),
    };
    work.await
}

fn report(delivered: Delivered) {
    let Delivered { sent, acknowledged, refused } = delivered;
    tracing::info!(sent, acknowledged, refused, "done");
}

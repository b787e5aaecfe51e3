//! `bakehouse publish` and `bakehouse flood`: readings over MQTT until they end or Ctrl-C.

use std::fs::File;
use std::io::BufWriter;
use std::time::{Duration, SystemTime};

use anyhow::{Context, Result, ensure};
use bakehouse::{Clock, Delivered, PayloadStyle, PublishOptions};
use chrono::{DateTime, TimeDelta, Utc};
use tokio::sync::watch;

use crate::arguments::{Flood, Payload, Publish};

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
        style: match asked.payload {
            Payload::Json => PayloadStyle::Json,
            Payload::Number => PayloadStyle::Number,
        },
    };
    tracing::info!(%from, until = %(from + lasts), speed = asked.speed, "publishing");
    let clock = Clock::starting_now(from, asked.speed);
    let readings = simulation.until(from + lasts);
    let stop = stop_on_interrupt();
    report(bakehouse::publish(readings, &options, clock, stop.1.clone()).await);
    Ok(())
}

pub(crate) async fn flood(asked: &Flood) -> Result<()> {
    let name = asked.acknowledged.display();
    let file = File::create(&asked.acknowledged).with_context(|| format!("can't create {name}"))?;
    let flood = bakehouse::Flood {
        broker: asked.broker.clone(),
        rate: asked.rate,
        lasts: Duration::try_from_secs_f64(asked.seconds)
            .with_context(|| format!("--seconds {} is no time", asked.seconds))?,
        topics: asked.topics,
    };
    let start = DateTime::<Utc>::from(SystemTime::now());
    let stop = stop_on_interrupt();
    report(flood.run(start, BufWriter::new(file), stop.1.clone()).await?);
    Ok(())
}

fn report(delivered: Delivered) {
    let Delivered { sent, acknowledged, refused } = delivered;
    tracing::info!(sent, acknowledged, refused, "done");
}

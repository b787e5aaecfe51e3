//! A flood of readings, and a record of each one that the broker acknowledged: whatever is in the
//! record must be found again after a crash of those who listen.

use std::io::{self, Write};
use std::sync::Arc;
use std::time::Duration;

use anyhow::{Context, Result, ensure};
use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};
use tokio::sync::watch;
use tokio::time::Instant;

use crate::bakery::Line;
use crate::broker_address::BrokerAddress;
use crate::delivery::{Delivered, Message, Source, deliver};
use crate::payload::{CSV_HEADER, PayloadStyle};
use crate::tag::Tag;

/// How hard to flood.
#[derive(Debug, Clone)]
pub struct Flood {
    /// The broker.
    pub broker: BrokerAddress,
    /// Readings a second.
    pub rate: f64,
    /// For how long.
    pub lasts: Duration,
    /// Ovens that send: tunnel-1, tunnel-2 and so on, all alike.
    pub lines: usize,
    /// Zones of each.
    pub zones: usize,
    /// Over how many of their topics; all that carry numbers if none is given.
    pub topics: Option<usize>,
    /// How much faster than time the plant's clock runs.
    pub speed: f64,
    /// How payloads are written.
    pub style: PayloadStyle,
}

impl Flood {
    /// A flood of JSON over all of tunnel-1's topics that carry numbers.
    pub fn of_tunnel_1(broker: BrokerAddress, rate: f64, lasts: Duration) -> Self {
        Self { broker, rate, lasts, lines: 1, zones: 4, topics: None, speed: 1.0, style: PayloadStyle::Json }
    }

    /// Floods the broker with JSON readings, no two of a topic with the same time, from `start`
    /// on, and writes a row `time,tag,value` for each that the broker acknowledged.
    pub async fn run(
        &self,
        start: DateTime<Utc>,
        mut acknowledged: impl Write + Send,
        stop: watch::Receiver<bool>,
    ) -> Result<Delivered> {
        ensure!(self.style == PayloadStyle::Json, "a bare number has no time that could be recorded; send JSON");
        writeln!(acknowledged, "{CSV_HEADER}")?;
        let mut written: io::Result<()> = Ok(());
        let note = |message: &Message| {
            if written.is_ok() {
                written = note_acknowledged(&mut acknowledged, message);
            }
        };
        let delivered = self.send(start, note, stop).await?;
        written.and_then(|()| acknowledged.flush()).context("can't record acknowledgements")?;
        Ok(delivered)
    }

    /// The same without a record, and as fast as the broker takes it.
    pub async fn run_unrecorded(&self, start: DateTime<Utc>, stop: watch::Receiver<bool>) -> Result<Delivered> {
        self.send(start, |_| {}, stop).await
    }

    async fn send(
        &self,
        start: DateTime<Utc>,
        on_acknowledged: impl FnMut(&Message) + Send,
        stop: watch::Receiver<bool>,
    ) -> Result<Delivered> {
        ensure!(self.rate > 0.0, "a rate of {} readings a second is no flood", self.rate);
        let mut topics = self.numeric_topics();
        let most = topics.len();
        let wanted = self.topics.unwrap_or(most);
        ensure!((1..=most).contains(&wanted), "topics must be 1 to {most}, not {wanted}");
        topics.truncate(wanted);
        let source = Torrent {
            topics,
            style: self.style,
            start,
            speed: self.speed,
            here: Instant::now(),
            gap: Duration::from_secs_f64(1.0 / self.rate),
            count: 0,
            total: (self.rate * self.lasts.as_secs_f64()).round() as u64,
        };
        let client_id = format!("bakehouse-flood-{}", std::process::id());
        Ok(deliver(&self.broker, &client_id, source, on_acknowledged, stop).await)
    }

    /// The topics that carry numbers, and a plausible value for each.
    fn numeric_topics(&self) -> Vec<(Arc<str>, f64)> {
        let lines = (1..=self.lines).map(|number| Line::tunnel(&format!("tunnel-{number}"), self.zones, 28.0));
        lines
            .flat_map(|line| {
                let tags = line.tags();
                tags.into_iter().filter_map(move |tag| Some((tag.topic(&line), plausible(tag)?)))
            })
            .collect()
    }
}

fn note_acknowledged(out: &mut impl Write, message: &Message) -> io::Result<()> {
    let reading: serde_json::Value = serde_json::from_slice(&message.payload)?;
    let time = reading["time"].as_str().unwrap_or_default();
    writeln!(out, "{time},{},{}", message.topic, reading["value"])
}

fn plausible(tag: Tag) -> Option<f64> {
    match tag {
        Tag::Band => Some(1.1),
        Tag::Steam => Some(180.0),
        Tag::Gas => Some(30.0),
        Tag::HallTemperature => Some(25.0),
        Tag::HallHumidity => Some(50.0),
        Tag::Temperature(_) => Some(220.0),
        Tag::Humidity(zone) => Some(80.0 - 12.0 * zone.min(4) as f64),
        Tag::Damper(_) => Some(45.0),
        Tag::Feed | Tag::Product => None,
    }
}

struct Torrent {
    topics: Vec<(Arc<str>, f64)>,
    style: PayloadStyle,
    start: DateTime<Utc>,
    speed: f64,
    here: Instant,
    gap: Duration,
    count: u64,
    total: u64,
}

impl Source for Torrent {
    async fn next(&mut self) -> Option<Message> {
        if self.count >= self.total {
            return None;
        }
        let due = self.here + self.gap.mul_f64(self.count as f64);
        if due > Instant::now() {
            tokio::time::sleep_until(due).await;
        }
        let message = self.nth(self.count);
        self.count += 1;
        Some(message)
    }
}

impl Torrent {
    /// The nth reading. Each round over the topics gets its own millisecond.
    fn nth(&self, nth: u64) -> Message {
        let topics = self.topics.len() as u64;
        let (topic, plausible) = &self.topics[(nth % topics) as usize];
        let value = plausible + (nth % 1000) as f64 / 1000.0;
        let payload = match self.style {
            PayloadStyle::Number => format!("{value:.3}"),
            PayloadStyle::Json => {
                let time = self.time(nth / topics).to_rfc3339_opts(SecondsFormat::Millis, true);
                format!(r#"{{"value":{value:.3},"time":"{time}","quality":"good"}}"#)
            }
        };
        Message { topic: topic.clone(), payload: payload.into_bytes() }
    }

    fn time(&self, round: u64) -> DateTime<Utc> {
        let pace_ms = self.gap.as_secs_f64() * 1000.0 * self.topics.len() as f64 * self.speed;
        self.start + TimeDelta::milliseconds((round as f64 * pace_ms.max(1.0)) as i64)
    }
}

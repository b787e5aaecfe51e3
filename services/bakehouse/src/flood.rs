//! A flood of readings, and a record of each one that the broker acknowledged: whatever is in the
//! record must be found again after a crash of those who listen.

use std::io::{self, Write};
use std::sync::Arc;
use std::time::Duration;

use anyhow::{Context, Result, ensure};
use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};
use tokio::sync::watch;
use tokio::time::Instant;

use crate::bakery::Bakery;
use crate::broker_address::BrokerAddress;
use crate::delivery::{Delivered, Message, Source, deliver};
use crate::payload::CSV_HEADER;
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
    /// Over how many of tunnel-1's numeric topics; all of them if none is given.
    pub topics: Option<usize>,
}

impl Flood {
    /// Floods the broker with JSON readings, no two of a topic with the same time, from `start`
    /// on, and writes a row `time,tag,value` for each that the broker acknowledged.
    pub async fn run(
        &self,
        start: DateTime<Utc>,
        mut acknowledged: impl Write + Send,
        stop: watch::Receiver<bool>,
    ) -> Result<Delivered> {
        ensure!(self.rate > 0.0, "a rate of {} readings a second is no flood", self.rate);
        let topics = numeric_topics();
        let wanted = self.topics.unwrap_or(topics.len());
        let most = topics.len();
        ensure!((1..=most).contains(&wanted), "topics must be 1 to {most}, not {wanted}");
        writeln!(acknowledged, "{CSV_HEADER}")?;
        let source = Torrent {
            topics: topics.into_iter().take(wanted).collect(),
            start,
            here: Instant::now(),
            gap: Duration::from_secs_f64(1.0 / self.rate),
            count: 0,
            total: (self.rate * self.lasts.as_secs_f64()) as u64,
        };
        let mut written: io::Result<()> = Ok(());
        let note = |message: &Message| {
            if written.is_ok() {
                written = note_acknowledged(&mut acknowledged, message);
            }
        };
        let client_id = format!("bakehouse-flood-{}", std::process::id());
        let delivered = deliver(&self.broker, &client_id, source, note, stop).await;
        written.and_then(|()| acknowledged.flush()).context("can't record acknowledgements")?;
        Ok(delivered)
    }
}

fn note_acknowledged(out: &mut impl Write, message: &Message) -> io::Result<()> {
    let reading: serde_json::Value = serde_json::from_slice(&message.payload)?;
    let time = reading["time"].as_str().unwrap_or_default();
    writeln!(out, "{time},{},{}", message.topic, reading["value"])
}

/// The numeric topics of tunnel-1 and a plausible value for each.
fn numeric_topics() -> Vec<(Arc<str>, f64)> {
    let plausible = |tag| match tag {
        Tag::Band => Some(1.1),
        Tag::Steam => Some(180.0),
        Tag::Gas => Some(30.0),
        Tag::Temperature(_) => Some(220.0),
        Tag::Humidity(zone) => Some(80.0 - 12.0 * zone as f64),
        Tag::Damper(_) => Some(45.0),
        Tag::Feed | Tag::Product => None,
    };
    let bakery = Bakery::millbrook_single();
    let line = &bakery.lines[0];
    line.tags().into_iter().filter_map(|tag| Some((tag.topic(line), plausible(tag)?))).collect()
}

struct Torrent {
    topics: Vec<(Arc<str>, f64)>,
    start: DateTime<Utc>,
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
        let round = nth / topics;
        let pace_ms = self.gap.as_secs_f64() * 1000.0 * topics as f64;
        let after_ms = (round as f64 * pace_ms.max(1.0)) as i64;
        let time = self.start + TimeDelta::milliseconds(after_ms);
        let time = time.to_rfc3339_opts(SecondsFormat::Millis, true);
        let value = plausible + (nth % 1000) as f64 / 1000.0;
        let payload = format!(r#"{{"value":{value:.3},"time":"{time}","quality":"good"}}"#);
        Message { topic: topic.clone(), payload: payload.into_bytes() }
    }
}

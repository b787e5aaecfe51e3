//! Publishes readings when they are due, at the plant's own pace or faster.

use std::time::Duration;

use chrono::{DateTime, Utc};
use tokio::sync::watch;
use tokio::time::Instant;

use crate::broker_address::BrokerAddress;
use crate::delivery::{Delivered, Message, Source, deliver};
use crate::payload::{PayloadStyle, payload};
use crate::simulation::PlantReading;

/// Where and how readings are published.
#[derive(Debug, Clone)]
pub struct PublishOptions {
    /// The broker.
    pub broker: BrokerAddress,
    /// MQTT client id.
    pub client_id: String,
    /// How payloads are written.
    pub style: PayloadStyle,
}

/// Ties simulated time to the time that passes here.
#[derive(Debug, Clone, Copy)]
pub struct Clock {
    simulated: DateTime<Utc>,
    here: Instant,
    speed: f64,
}

impl Clock {
    /// Simulated time stands at `simulated` now and runs `speed` times as fast as ours.
    pub fn starting_now(simulated: DateTime<Utc>, speed: f64) -> Self {
        Self { simulated, here: Instant::now(), speed: speed.max(1e-3) }
    }

    /// When a simulated time comes; at once if it is past.
    fn due(&self, time: DateTime<Utc>) -> Instant {
        let ahead = (time - self.simulated).to_std().unwrap_or_default();
        self.here + Duration::from_secs_f64(ahead.as_secs_f64() / self.speed)
    }
}

/// Publishes readings (QoS 1, in order) as they fall due by the clock, and returns when all are
/// acknowledged, or within a second of `stop` turning true or its sender being dropped.
///
/// A slow broker delays readings and a lost connection repeats some; none is dropped.
pub async fn publish(
    readings: impl Iterator<Item = PlantReading> + Send,
    options: &PublishOptions,
    clock: Clock,
    stop: watch::Receiver<bool>,
) -> Delivered {
    let paced = Paced { readings, style: options.style, clock, next: None };
    deliver(&options.broker, &options.client_id, paced, |_| {}, stop).await
}

struct Paced<I> {
    readings: I,
    style: PayloadStyle,
    clock: Clock,
    /// Taken from the simulation but not due yet.
    next: Option<PlantReading>,
}

impl<I: Iterator<Item = PlantReading> + Send> Source for Paced<I> {
    async fn next(&mut self) -> Option<Message> {
        if self.next.is_none() {
            self.next = self.readings.next();
        }
        let due = self.clock.due(self.next.as_ref()?.sent);
        if due > Instant::now() {
            tokio::time::sleep_until(due).await;
        }
        let reading = self.next.take()?;
        Some(Message { payload: payload(&reading, self.style), topic: reading.topic })
    }
}

//! From the broker to the store: a message is acknowledged when its readings are on the disk.

use std::sync::Arc;
use std::time::{Duration, Instant};

use broker::{Acknowledger, Delivery, IntakeEvent};
use crossbeam_channel::Sender;
use reading::{Plant, Quality, Reading, Timestamp, payload};
use store::{Quarantined, Store};
use tokio::sync::{mpsc, watch};

use super::clock::{PlantClock, StepWatch};
use super::figures::Figures;
use super::links::BrokerLink;
use super::lost::{self, LossWatch};
use super::troubles::{Troubles, Work};

/// A commit takes at most this many messages, however fast they come.
const LARGEST_GROUP: usize = 20_000;
/// After a failed commit the same messages are tried again this much later.
const RETRY: Duration = Duration::from_secs(1);

/// Carries messages from the broker to the store, and new readings on to detection.
pub(crate) struct IntakeLoop {
    pub(crate) plant: Arc<Plant>,
    pub(crate) store: Store,
    pub(crate) figures: Arc<Figures>,
    pub(crate) acknowledger: Acknowledger,
    pub(crate) to_detection: Sender<Vec<Reading>>,
    pub(crate) link: watch::Sender<BrokerLink>,
    pub(crate) troubles: Arc<Troubles>,
    pub(crate) losses: LossWatch,
    pub(crate) clock: PlantClock,
    pub(crate) steps: StepWatch,
    pub(crate) commit_every: Duration,
    pub(crate) stopped: watch::Receiver<bool>,
}

impl IntakeLoop {
    /// Runs until the intake hands out nothing more.
    pub(crate) async fn run(mut self, mut events: mpsc::Receiver<IntakeEvent>) {
        let mut group: Vec<Delivery> = Vec::new();
        while let Some(event) = events.recv().await {
            self.take(event, &mut group);
            let deadline = tokio::time::Instant::now() + self.commit_every;
            while !group.is_empty() && group.len() < LARGEST_GROUP {
                match tokio::time::timeout_at(deadline, events.recv()).await {
                    Ok(Some(event)) => self.take(event, &mut group),
                    Ok(None) | Err(_) => break,
                }
            }
            self.commit(&mut group).await;
        }
    }

    fn take(&mut self, event: IntakeEvent, group: &mut Vec<Delivery>) {
        match event {
            IntakeEvent::Delivered(deliveries) => {
                let (told, readings): (Vec<_>, Vec<_>) =
                    deliveries.into_iter().partition(|delivery| delivery.topic == lost::DROPPED);
                for delivery in told {
                    self.losses.told(&delivery.payload, Timestamp(delivery.received_us));
                    self.acknowledger.acknowledge([delivery.token]);
                }
                self.losses.heard(self.clock.now());
                group.extend(readings);
            }
            IntakeEvent::Connected { session_present, protocol } => {
                tracing::info!(%protocol, session_present, "connected to the broker");
                self.losses.connected(session_present, self.clock.now());
                self.link.send_replace(BrokerLink::Connected { protocol: protocol.to_string() });
            }
            IntakeEvent::Disconnected { reason } => {
                tracing::warn!("no connection to the broker: {reason}");
                self.figures.set("ovenward_broker_connected", 0.0);
                self.link.send_replace(BrokerLink::Disconnected { reason });
            }
            IntakeEvent::Subscribed { refused } => {
                self.figures.set("ovenward_broker_connected", 1.0);
                for topic in refused {
                    if topic.topic == lost::DROPPED {
                        tracing::warn!("the broker does not tell what it drops; let us read {}", lost::DROPPED);
                        continue;
                    }
                    tracing::error!("the broker refuses the topic {}: {}", topic.topic, topic.reason);
                }
            }
            IntakeEvent::TooLarge { topic, bytes, .. } => {
                self.figures.reject("too-large");
                tracing::warn!("a message of {bytes} bytes on {topic} is too large to be a reading; it was dropped");
            }
            IntakeEvent::Dropped { messages } => {
                tracing::warn!("{messages} messages without acknowledgement (QoS 0) came too fast and were dropped");
            }
        }
    }

    /// Commits a group and acknowledges it; on failure keeps it and tries again, while the broker
    /// holds back what would come next. Told to stop, it leaves them to the broker.
    async fn commit(&mut self, group: &mut Vec<Delivery>) {
        if group.is_empty() {
            return;
        }
        self.figures.count("ovenward_messages_total", group.len() as u64);
        let (readings, quarantined) = tokio::task::block_in_place(|| self.decode(group));
        loop {
            let started = Instant::now();
            let attempt = tokio::task::block_in_place(|| self.store.commit(&readings, &quarantined));
            match self.troubles.note(Work::StoringReadings, attempt) {
                Some(committed) => {
                    self.acknowledger.acknowledge(group.drain(..).map(|delivery| delivery.token));
                    self.figures.set("ovenward_commit_seconds", started.elapsed().as_secs_f64());
                    self.figures.count("ovenward_readings_stored_total", committed.stored as u64);
                    self.figures.count("ovenward_readings_repeated_total", committed.already_there as u64);
                    let mut fresh = readings;
                    let mut new = committed.new.into_iter();
                    fresh.retain(|_| new.next().unwrap_or(true));
                    // Detection is gone only when the program is on its way out.
                    let _ = tokio::task::block_in_place(|| self.to_detection.send(fresh));
                    return;
                }
                None if *self.stopped.borrow() => {
                    group.clear();
                    return;
                }
                None => tokio::time::sleep(RETRY).await,
            }
        }
    }

    fn decode(&mut self, group: &[Delivery]) -> (Vec<Reading>, Vec<Quarantined>) {
        // A simulated plant's clock runs faster than time; nobody sets it.
        let doubtful =
            matches!(self.clock, PlantClock::Machine) && self.steps.is_doubtful(self.clock.now(), Instant::now());
        let mut readings = Vec::with_capacity(group.len());
        let mut quarantined = Vec::new();
        for delivery in group {
            let received = Timestamp(delivery.received_us);
            for result in payload::decode(&self.plant.signals, &delivery.topic, &delivery.payload, received) {
                match result {
                    Ok(mut reading) => {
                        if doubtful && reading.time == received && reading.quality == Quality::Good {
                            reading.quality = Quality::Uncertain;
                        }
                        readings.push(reading);
                    }
                    Err(rejection) => {
                        let count = self.figures.reject(rejection.reason.name());
                        // The first, then every power of two: a broken sensor must not fill the log.
                        if count.is_power_of_two() {
                            tracing::warn!("{}: {rejection} ({count} for this reason so far)", delivery.topic);
                        }
                        quarantined.push(Quarantined {
                            received,
                            topic: delivery.topic.clone(),
                            payload: delivery.payload.clone(),
                            reason: rejection.reason.name().into(),
                            detail: rejection.detail,
                        });
                    }
                }
            }
        }
        (readings, quarantined)
    }
}

//! From the broker to the store: a message is acknowledged when its readings are on the disk.

use std::sync::Arc;
use std::time::{Duration, Instant};

use anyhow::anyhow;
use broker::{Acknowledger, CertificateEnd, IntakeEvent};
use crossbeam_channel::Sender;
use reading::{Reading, Timestamp};
use store::{Gap, GapCause, Store};
use tokio::sync::{mpsc, watch};

use super::clock::PlantClock;
use super::decoder::{Decoder, Group};
use super::figures::Figures;
use super::host::HostCalls;
use super::links::BrokerLink;
use super::lost::{self, LossWatch};
use super::troubles::{Troubles, Work};
use crate::certificates;

/// A commit takes at most this many messages, however fast they come.
const LARGEST_GROUP: usize = 20_000;
/// After a failed commit the same messages are tried again this much later.
const RETRY: Duration = Duration::from_secs(1);
/// What is missing, and what ends soon, is looked for this often.
const LOOK: Duration = Duration::from_secs(1);

/// Carries messages from the broker to the store, and new readings on to detection.
pub(crate) struct IntakeLoop {
    pub(crate) decoder: Decoder,
    pub(crate) store: Store,
    pub(crate) figures: Arc<Figures>,
    pub(crate) acknowledger: Acknowledger,
    pub(crate) to_detection: Sender<Vec<Reading>>,
    pub(crate) link: watch::Sender<BrokerLink>,
    pub(crate) troubles: Arc<Troubles>,
    pub(crate) losses: LossWatch,
    /// Whoever asks edge nodes for their births; nobody, where the service only listens.
    pub(crate) host: Option<HostCalls>,
    /// Those of our own files, and the broker's once it has shown it.
    pub(crate) certificates: Vec<CertificateEnd>,
    pub(crate) clock: PlantClock,
    pub(crate) commit_every: Duration,
    pub(crate) stopped: watch::Receiver<bool>,
}

impl IntakeLoop {
    /// Runs until the intake hands out nothing more.
    pub(crate) async fn run(mut self, mut events: mpsc::Receiver<IntakeEvent>) {
        let mut group = Group::default();
        let mut looked = Instant::now();
        loop {
            match tokio::time::timeout(LOOK, events.recv()).await {
                Ok(Some(event)) => self.take(event, &mut group),
                Ok(None) => return,
                Err(_) => {}
            }
            let deadline = tokio::time::Instant::now() + self.commit_every;
            while !group.is_empty() && group.tokens.len() < LARGEST_GROUP {
                match tokio::time::timeout_at(deadline, events.recv()).await {
                    Ok(Some(event)) => self.take(event, &mut group),
                    Ok(None) | Err(_) => break,
                }
            }
            self.commit(&mut group).await;
            if looked.elapsed() >= LOOK {
                self.look_after_edge_nodes();
                self.look_at_certificates();
                looked = Instant::now();
            }
        }
    }

    fn take(&mut self, event: IntakeEvent, group: &mut Group) {
        match event {
            IntakeEvent::Delivered(deliveries) => {
                let (told, said): (Vec<_>, Vec<_>) =
                    deliveries.into_iter().partition(|delivery| delivery.topic == lost::DROPPED);
                for delivery in told {
                    self.losses.told(&delivery.payload, Timestamp(delivery.received_us));
                    self.acknowledger.acknowledge([delivery.token]);
                }
                self.losses.heard(self.clock.now());
                let said = match &self.host {
                    Some(host) => host.take_own_state(said, &self.acknowledger),
                    None => said,
                };
                tokio::task::block_in_place(|| self.decoder.take(said, group));
            }
            IntakeEvent::Connected { session_present, protocol, certificate } => {
                tracing::info!(%protocol, session_present, "connected to the broker");
                if !session_present {
                    self.decoder.session_lost(group);
                }
                self.certificates.retain(|known| certificate.as_ref().is_none_or(|new| new.whose != known.whose));
                self.certificates.extend(certificate);
                self.losses.connected(session_present, self.clock.now());
                self.link
                    .send_replace(BrokerLink::Connected { protocol: protocol.to_string(), since: self.clock.now() });
            }
            IntakeEvent::Disconnected { reason } => {
                tracing::warn!("no connection to the broker: {reason}");
                self.figures.set("ovenward_broker_connected", 0.0);
                self.lost_connection(reason);
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
                if let Some(host) = &self.host {
                    host.listens_now();
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

    /// Tries to connect go on failing meanwhile: since when is kept from the first.
    fn lost_connection(&self, why: String) {
        self.link.send_modify(|link| match link {
            BrokerLink::Disconnected { reason, .. } => *reason = why,
            BrokerLink::Connected { .. } => {
                *link = BrokerLink::Disconnected { reason: why, since: self.clock.now() };
            }
        });
    }

    /// Commits a group and acknowledges it; on failure keeps it and tries again, while the broker
    /// holds back what would come next. Told to stop, it leaves them to the broker.
    async fn commit(&mut self, group: &mut Group) {
        if group.is_empty() {
            return;
        }
        let Group { readings, quarantined, notes, tokens } = std::mem::take(group);
        self.figures.count("ovenward_messages_total", tokens.len() as u64);
        loop {
            let started = Instant::now();
            let attempt = tokio::task::block_in_place(|| self.store.commit_noting(&readings, &quarantined, &notes));
            match self.troubles.note(Work::StoringReadings, attempt) {
                Some(committed) => {
                    self.acknowledger.acknowledge(tokens);
                    self.figures.set("ovenward_commit_seconds", started.elapsed().as_secs_f64());
                    self.figures.stored(committed.stored as u64);
                    self.figures.count("ovenward_readings_repeated_total", committed.already_there as u64);
                    let mut fresh = readings;
                    let mut new = committed.new.into_iter();
                    fresh.retain(|_| new.next().unwrap_or(true));
                    // Detection is gone only when the program is on its way out.
                    let _ = tokio::task::block_in_place(|| self.to_detection.send(fresh));
                    return;
                }
                None if *self.stopped.borrow() => return,
                None => tokio::time::sleep(RETRY).await,
            }
        }
    }

    /// What never came of edge nodes, and what cannot be named for want of a birth.
    fn look_after_edge_nodes(&mut self) {
        let nodes = &mut self.decoder.nodes;
        for sparkplug::Lost { node, messages } in nodes.give_up(self.clock.now()) {
            tracing::warn!("{} messages of edge node {node} did not come", messages.count);
            let (began, ended, lost) = (messages.began, messages.ended, Some(messages.count));
            self.losses.keep(Some(Gap { began, ended, cause: GapCause::SequenceBroken, lost }));
        }
        let unnamed = nodes.unnamed();
        let attempt = if unnamed.is_empty() { Ok(()) } else { Err(anyhow!(unnamed.join(", "))) };
        self.troubles.note(Work::NamingMetrics, attempt);
        if let Some(host) = &self.host {
            host.ask(nodes.to_be_asked());
        }
    }

    fn look_at_certificates(&self) {
        let soon = certificates::warning(&self.certificates, self.clock.now());
        self.troubles.note(Work::Connecting, soon.map_or(Ok(()), |text| Err(anyhow!(text))));
    }
}

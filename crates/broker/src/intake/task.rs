//! The loop behind an [`Intake`](super::Intake).

use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::watch;
use tokio::time::{Instant, sleep, sleep_until};

use super::{Clock, Delivery, IntakeEvent, Phase, RefusedTopic};
use crate::Connection;
use crate::backoff::Backoff;
use crate::ledger::{Acknowledger, Token};
use crate::link::{Arrival, Greeting, Link, LinkEvent, Requests, Role};
use crate::outlet::Outlet;

/// Topics in one SUBSCRIBE packet: some brokers limit the size of a packet.
const TOPICS_PER_SUBSCRIBE: usize = 200;

/// How long a farewell may take.
const FAREWELL: Duration = Duration::from_millis(500);

pub(super) struct Task {
    connection: Arc<Connection>,
    topics: Vec<String>,
    clock: Clock,
    outlet: Outlet,
    acknowledger: Acknowledger,
    phase: watch::Receiver<Phase>,
    /// QoS 0 messages dropped and not yet told of.
    dropped: u64,
}

impl Task {
    pub(super) fn new(
        connection: Connection,
        topics: Vec<String>,
        clock: Clock,
        outlet: Outlet,
        acknowledger: Acknowledger,
        phase: watch::Receiver<Phase>,
    ) -> Self {
        Self { connection: Arc::new(connection), topics, clock, outlet, acknowledger, phase, dropped: 0 }
    }

    /// Connects, serves the connection, pauses; until the end.
    pub(super) async fn run(mut self) {
        let connection = Arc::clone(&self.connection);
        let role = Role { suffix: "", keeps_session: true, will: None };
        let mut backoff = Backoff::new();
        while let Some(opened) = self.unless_ended(Link::open(&connection, &role)).await {
            let reason = match opened {
                Ok((link, requests, greeting)) => {
                    let opened_at = Instant::now();
                    let reason = self.serve(link, &requests, greeting).await;
                    self.acknowledger.close();
                    self.outlet.take_back();
                    backoff.connection_lived(opened_at.elapsed());
                    reason
                }
                Err(error) => error.to_string(),
            };
            if self.has_ended() {
                return;
            }
            tracing::warn!(%reason, "no connection to the broker");
            self.outlet.tell(IntakeEvent::Disconnected { reason });
            self.unless_ended(sleep(backoff.pause())).await;
        }
    }

    /// Serves one connection until it ends; says why it did.
    async fn serve(&mut self, mut link: Link, requests: &Requests, greeting: Greeting) -> String {
        self.welcome(&greeting);
        self.acknowledger.open(requests.clone());
        for topics in self.topics.chunks(TOPICS_PER_SUBSCRIBE) {
            requests.subscribe(topics);
        }
        let mut subscriptions = Subscriptions::default();
        let mut farewell_ends = None;
        loop {
            // The link's future is kept until it is ready; see `Link::next`.
            let mut next = pin!(link.next());
            let event = loop {
                if self.has_ended() && farewell_ends.is_none() {
                    requests.disconnect();
                    farewell_ends = Some(Instant::now() + FAREWELL);
                }
                tokio::select! {
                    biased;
                    Ok(()) = self.phase.changed() => {}
                    event = self.outlet.during(&mut next) => break event,
                    () = sleep_until(farewell_ends.unwrap_or_else(Instant::now)), if farewell_ends.is_some() => {
                        return "the broker took no leave of us".to_owned();
                    }
                }
            };
            match event {
                Ok(LinkEvent::Arrived(arrival)) => self.receive(arrival),
                Ok(LinkEvent::Subscribed(answers)) => {
                    if let Some(refused) = subscriptions.answered(&self.topics, answers) {
                        self.outlet.tell(IntakeEvent::Subscribed { refused });
                    }
                }
                Ok(LinkEvent::Disconnected) => return "we have taken leave".to_owned(),
                Ok(LinkEvent::Publishing(_) | LinkEvent::Published(..)) => {}
                Err(error) => return error.to_string(),
            }
        }
    }

    fn welcome(&mut self, greeting: &Greeting) {
        let Greeting { protocol, session_present, .. } = *greeting;
        tracing::info!(address = self.connection.address(), %protocol, session_present, "connected to the broker");
        if let Some(granted) = greeting.session_expiry.filter(|granted| *granted < self.connection.session_expiry) {
            tracing::warn!(
                granted_s = granted.as_secs(),
                asked_s = self.connection.session_expiry.as_secs(),
                "the broker keeps our session for a shorter time than asked; readings of a longer absence are lost"
            );
        }
        self.outlet.tell(IntakeEvent::Connected { session_present, protocol });
    }

    fn receive(&mut self, arrival: Arrival) {
        if self.outlet.is_finishing() {
            return;
        }
        let received_us = (self.clock)();
        let token = match arrival.packet_id {
            Some(packet_id) => self.acknowledger.receive(packet_id),
            None if self.outlet.is_full() => {
                self.dropped += 1;
                return;
            }
            None => Token::NONE,
        };
        self.tell_dropped();
        let bytes = arrival.payload.len();
        if bytes > self.connection.largest_payload {
            let topic = arrival.topic;
            tracing::warn!(topic, bytes, limit = self.connection.largest_payload, "message too large, dropped");
            self.acknowledger.acknowledge([token]);
            self.outlet.tell(IntakeEvent::TooLarge { topic, bytes, received_us });
            return;
        }
        self.outlet.deliver(Delivery {
            topic: arrival.topic,
            payload: arrival.payload,
            retained: arrival.retained,
            duplicate: arrival.duplicate,
            received_us,
            token,
        });
    }

    fn tell_dropped(&mut self) {
        if self.dropped > 0 {
            let messages = std::mem::take(&mut self.dropped);
            tracing::warn!(messages, "messages without acknowledgement came faster than they were taken, dropped");
            self.outlet.tell(IntakeEvent::Dropped { messages });
        }
    }

    /// Awaits `future` unless the intake ends before.
    async fn unless_ended<T>(&mut self, future: impl Future<Output = T>) -> Option<T> {
        let mut future = pin!(future);
        while !self.has_ended() {
            tokio::select! {
                biased;
                Ok(()) = self.phase.changed() => {}
                value = self.outlet.during(&mut future) => return Some(value),
            }
        }
        None
    }

    /// Looks at the phase, and acts on it.
    fn has_ended(&mut self) -> bool {
        let phase = *self.phase.borrow_and_update();
        if phase > Phase::Delivering {
            self.outlet.finish();
        }
        phase == Phase::Ended || self.outlet.is_abandoned()
    }
}

/// Gathers the broker's answers to the subscribe requests of one connection.
#[derive(Default)]
struct Subscriptions {
    answered: usize,
    refused: Vec<RefusedTopic>,
}

impl Subscriptions {
    /// Takes one answer; gives the refusals when it was the last.
    fn answered(&mut self, topics: &[String], answers: Vec<Option<String>>) -> Option<Vec<RefusedTopic>> {
        for (topic, answer) in topics.iter().skip(self.answered).zip(&answers) {
            if let Some(reason) = answer {
                tracing::warn!(topic, reason, "the broker does not subscribe us as asked");
                self.refused.push(RefusedTopic { topic: topic.clone(), reason: reason.clone() });
            }
        }
        self.answered += answers.len();
        (self.answered >= topics.len()).then(|| std::mem::take(&mut self.refused))
    }
}

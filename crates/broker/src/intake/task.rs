//! The loop behind an [`Intake`](super::Intake).

use std::pin::pin;
use std::sync::Arc;

use tokio::sync::watch;
use tokio::time::{Instant, sleep, sleep_until};

use super::{Clock, Delivery, IntakeEvent, Phase, RefusedTopic};
use crate::Connection;
use crate::backoff::Backoff;
use crate::ledger::{Acknowledger, Token};
use crate::link::{Arrival, FAREWELL, Greeting, Link, LinkEvent, Requests, Role};
use crate::outlet::Outlet;

/// Topics in one SUBSCRIBE packet: some brokers limit the size of a packet.
const TOPICS_PER_SUBSCRIBE: usize = 200;

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
            self.outlet.tell(IntakeEvent::Disconnected { reason });
            self.unless_ended(sleep(backoff.pause())).await;
        }
    }

    /// Serves one connection until it ends; says why it did.
    async fn serve(&mut self, mut link: Link, requests: &Requests, greeting: Greeting) -> String {
        self.welcome(greeting);
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

    fn welcome(&mut self, greeting: Greeting) {
        let asked = self.connection.session_expiry;
        if let Some(granted) = greeting.session_expiry.filter(|granted| *granted < asked) {
            tracing::warn!(
                "the broker keeps our session for {} s instead of {} s; readings of a longer absence are lost",
                granted.as_secs(),
                asked.as_secs()
            );
        }
        let Greeting { session_present, protocol, certificate, .. } = greeting;
        self.outlet.tell(IntakeEvent::Connected { session_present, protocol, certificate });
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
                self.refused.push(RefusedTopic { topic: topic.clone(), reason: reason.clone() });
            }
        }
        self.answered += answers.len();
        (self.answered >= topics.len()).then(|| std::mem::take(&mut self.refused))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn arrival(packet_id: Option<u16>) -> Arrival {
        Arrival { topic: "mill/a".to_owned(), payload: vec![0; 1 << 20], retained: false, duplicate: false, packet_id }
    }

    #[test]
    fn refused_topics_are_named_over_several_answers() {
        let topics = ["a", "b", "c", "d"].map(str::to_owned);
        let mut subscriptions = Subscriptions::default();
        let refusal = |reason: &str| Some(reason.to_owned());
        assert_eq!(subscriptions.answered(&topics, vec![None, refusal("first")]), None);
        let refused = subscriptions.answered(&topics, vec![refusal("second"), None]).unwrap();
        let named: Vec<_> = refused.iter().map(|topic| (topic.topic.as_str(), topic.reason.as_str())).collect();
        assert_eq!(named, [("b", "first"), ("c", "second")]);
    }

    #[test]
    fn without_room_messages_without_acknowledgement_are_dropped_and_counted_others_never() {
        let connection = Connection::parse_url("mqtt://localhost", "test").unwrap();
        let (outlet, mut events) = Outlet::new();
        let acknowledger = Acknowledger::new();
        let (_phase, phase) = watch::channel(Phase::Delivering);
        let mut task = Task::new(connection, Vec::new(), Arc::new(|| 0), outlet, acknowledger.clone(), phase);
        (0..70).for_each(|_| task.receive(arrival(None)));
        assert_eq!(task.dropped, 6);
        (1..=10).for_each(|packet_id| task.receive(arrival(Some(packet_id))));
        assert_eq!(acknowledger.outstanding(), 10);
        task.outlet.tell(IntakeEvent::Subscribed { refused: Vec::new() });
        let mut told = Vec::new();
        while !matches!(told.last(), Some(IntakeEvent::Subscribed { .. })) {
            let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
            told.extend(runtime.block_on(task.outlet.during(events.recv())));
        }
        let sizes = told.iter().map(|event| match event {
            IntakeEvent::Delivered(batch) => batch.len() as u64,
            IntakeEvent::Dropped { messages } => 1000 + messages,
            _ => 0,
        });
        assert_eq!(sizes.collect::<Vec<_>>(), [64, 1006, 10, 0]);
    }
}

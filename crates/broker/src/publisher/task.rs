//! The loop behind a [`Publisher`](super::Publisher).

use std::collections::{HashMap, VecDeque};
use std::pin::pin;

use tokio::sync::{mpsc, oneshot, watch};
use tokio::time::{Instant, sleep, sleep_until};

use super::{PublishError, PublisherState};
use crate::Connection;
use crate::backoff::Backoff;
use crate::link::{FAREWELL, Greeting, Link, LinkEvent, Requests, Role};

/// Messages that may be on their way at a time; more wait in the channel.
const ON_THEIR_WAY: usize = 1000;

/// Bytes that a PUBLISH packet may need beside topic and payload: type, lengths, packet id, no
/// properties.
const PACKET_OVERHEAD: usize = 10;

/// The packet id that stands for none: what has it is not acknowledged (QoS 0).
const UNACKNOWLEDGED: u16 = 0;

#[derive(Debug)]
pub(super) enum Command {
    Publish(Message),
    Close,
}

#[derive(Debug)]
pub(super) struct Message {
    pub(super) topic: String,
    pub(super) payload: Vec<u8>,
    pub(super) retain: bool,
    /// Whether the broker is to acknowledge it (QoS 1).
    pub(super) acknowledged: bool,
    /// Dropped without a word, it says [`PublishError::Disconnected`].
    pub(super) outcome: oneshot::Sender<Result<(), PublishError>>,
}

pub(super) struct Task {
    connection: Connection,
    role: Role,
    commands: mpsc::Receiver<Command>,
    state: watch::Sender<PublisherState>,
    connections: u64,
}

/// Whether there is anything left to do after a connection.
enum Ended {
    /// It was lost, for this reason; connect again.
    Lost(String),
    /// The owner has closed the publisher, or is gone.
    Closed,
}

impl Task {
    pub(super) fn new(
        connection: Connection,
        role: Role,
        commands: mpsc::Receiver<Command>,
        state: watch::Sender<PublisherState>,
    ) -> Self {
        Self { connection, role, commands, state, connections: 0 }
    }

    /// Connects, serves the connection, pauses; until closed.
    pub(super) async fn run(mut self) {
        let mut backoff = Backoff::new();
        while let Some(opened) = refusing(&mut self.commands, Link::open(&self.connection, &self.role)).await {
            let reason = match opened {
                Ok((link, requests, greeting)) => {
                    let opened_at = Instant::now();
                    let ended = self.serve(link, &requests, &greeting).await;
                    backoff.connection_lived(opened_at.elapsed());
                    match ended {
                        Ended::Lost(reason) => reason,
                        Ended::Closed => return,
                    }
                }
                Err(error) => error.to_string(),
            };
            tracing::warn!(%reason, "no connection to the broker for publishing");
            self.state.send_replace(PublisherState::Disconnected { reason });
            if refusing(&mut self.commands, sleep(backoff.pause())).await.is_none() {
                return;
            }
        }
    }

    /// Serves one connection until it ends.
    async fn serve(&mut self, mut link: Link, requests: &Requests, greeting: &Greeting) -> Ended {
        self.connections += 1;
        self.state
            .send_replace(PublisherState::Connected { connection: self.connections, protocol: greeting.protocol });
        let mut flight = Flight::default();
        let mut farewell_ends = None;
        loop {
            // The link's future is kept until it is ready; see `Link::next`.
            let mut next = pin!(link.next());
            let event = loop {
                if farewell_ends.is_some() && flight.is_empty() {
                    requests.disconnect();
                }
                tokio::select! {
                    biased;
                    event = &mut next => break event,
                    command = self.commands.recv(), if farewell_ends.is_none() && flight.len() < ON_THEIR_WAY => {
                        match command {
                            Some(Command::Publish(message)) => flight.take_off(message, requests, greeting),
                            Some(Command::Close) => {
                                farewell_ends = Some(Instant::now() + FAREWELL);
                            }
                            None => return Ended::Closed,
                        }
                    }
                    () = sleep_until(farewell_ends.unwrap_or_else(Instant::now)), if farewell_ends.is_some() => {
                        return Ended::Closed;
                    }
                }
            };
            match event {
                Ok(LinkEvent::Publishing(packet_id)) => flight.left(packet_id),
                Ok(LinkEvent::Published(packet_id, outcome)) => flight.landed(packet_id, outcome),
                Ok(LinkEvent::Disconnected) => return Ended::Closed,
                Ok(LinkEvent::Arrived(_) | LinkEvent::Subscribed(_)) => {}
                Err(_) if farewell_ends.is_some() => return Ended::Closed,
                Err(error) => return Ended::Lost(error.to_string()),
            }
        }
    }
}

/// Awaits `future`, and meanwhile fails what is to be published. None when the publisher is closed.
async fn refusing<T>(commands: &mut mpsc::Receiver<Command>, future: impl Future<Output = T>) -> Option<T> {
    let mut future = pin!(future);
    loop {
        tokio::select! {
            value = &mut future => return Some(value),
            command = commands.recv() => match command {
                Some(Command::Publish(message)) => drop(message),
                Some(Command::Close) | None => return None,
            }
        }
    }
}

/// The messages of one connection that the broker has not acknowledged yet. Dropping it fails them.
#[derive(Default)]
struct Flight {
    /// Handed to the link, which gives packet ids in this order.
    leaving: VecDeque<Waiting>,
    /// By packet id.
    left: HashMap<u16, Waiting>,
}

struct Waiting {
    topic: String,
    outcome: oneshot::Sender<Result<(), PublishError>>,
}

impl Flight {
    fn len(&self) -> usize {
        self.leaving.len() + self.left.len()
    }

    fn is_empty(&self) -> bool {
        self.len() == 0
    }

    fn take_off(&mut self, message: Message, requests: &Requests, greeting: &Greeting) {
        let Message { topic, payload, retain, acknowledged, outcome } = message;
        let bytes = topic.len() + payload.len() + PACKET_OVERHEAD;
        if bytes > greeting.largest_packet {
            // The caller may have gone meanwhile; then nobody wants to know.
            let _ = outcome.send(Err(PublishError::TooLarge { topic, bytes, limit: greeting.largest_packet }));
            return;
        }
        match acknowledged {
            true => requests.publish(topic.clone(), payload, retain),
            false => requests.send(topic.clone(), payload),
        }
        self.leaving.push_back(Waiting { topic, outcome });
    }

    fn left(&mut self, packet_id: u16) {
        let Some(waiting) = self.leaving.pop_front() else { return };
        if packet_id == UNACKNOWLEDGED {
            let _ = waiting.outcome.send(Ok(()));
        } else {
            self.left.insert(packet_id, waiting);
        }
    }

    fn landed(&mut self, packet_id: u16, outcome: Result<(), String>) {
        if let Some(waiting) = self.left.remove(&packet_id) {
            let topic = waiting.topic;
            let outcome = outcome.map_err(|reason| PublishError::Refused { topic, reason });
            let _ = waiting.outcome.send(outcome);
        }
    }
}

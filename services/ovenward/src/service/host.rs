//! The host application of Sparkplug, where the config wants one: says that it is there, and asks edge nodes for births.
//!
//! These are the only messages that ever leave for a topic outside of our own root, through a client that can write to
//! nothing else. Where the config says `passive`, none of this runs.

use std::collections::HashMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::Duration;

use anyhow::Result;
use broker::{Acknowledger, Connection, Delivery, Publisher, PublisherState, Will};
use sparkplug::{NodeName, Nodes, host};
use tokio::sync::mpsc;
use tokio::task::JoinHandle;
use tokio::time::Instant;

use super::clock::PlantClock;

/// A node that has not answered is asked again this much later.
const ASK_AGAIN: Duration = Duration::from_secs(60);
/// Calls that may wait; one that finds no room comes again in a second.
const WAITING: usize = 16;

enum Call {
    /// The intake hears the nodes: only now may the state say so.
    Listening,
    /// Somebody says that we are not there.
    SaidToBeOffline,
    /// Births are wanted of these.
    Ask(Vec<NodeName>),
}

/// The intake's end of the host application.
pub(crate) struct HostCalls {
    state_topic: String,
    calls: mpsc::Sender<Call>,
}

impl HostCalls {
    pub(crate) fn listens_now(&self) {
        self.call(Call::Listening);
    }

    pub(crate) fn ask<'a>(&self, nodes: impl Iterator<Item = &'a NodeName>) {
        let nodes: Vec<NodeName> = nodes.cloned().collect();
        if !nodes.is_empty() {
            self.call(Call::Ask(nodes));
        }
    }

    /// Takes what is said of ourselves out of what came in. It is no reading, and needs no disk.
    pub(crate) fn take_own_state(&self, deliveries: Vec<Delivery>, acknowledger: &Acknowledger) -> Vec<Delivery> {
        let (own, others): (Vec<_>, Vec<_>) =
            deliveries.into_iter().partition(|delivery| delivery.topic == self.state_topic);
        if own.last().is_some_and(|last| host::says_offline(&last.payload)) {
            self.call(Call::SaidToBeOffline);
        }
        acknowledger.acknowledge(own.into_iter().map(|delivery| delivery.token));
        others
    }

    fn call(&self, call: Call) {
        // A full queue is emptied within a moment, and every call is repeated while its cause lasts.
        let _ = self.calls.try_send(call);
    }
}

/// The host application's own loop.
pub(crate) struct HostLoop {
    publisher: Publisher,
    state_topic: String,
    calls: mpsc::Receiver<Call>,
    /// When the present connection was made, ms since 1970: the will and the state both say it.
    connected_ms: Arc<AtomicI64>,
    clock: PlantClock,
    listening: bool,
    /// Whether the present connection's first message, that we are there, has arrived: nothing goes before it.
    online: bool,
    asked: HashMap<NodeName, Instant>,
}

impl HostLoop {
    /// Connects as the host `id`; gives the loop, the intake's end of it, and the client's task.
    ///
    /// # Errors
    /// A setting of the connection that cannot work.
    pub(crate) fn start(
        id: &str,
        nodes: &Nodes,
        connection: Connection,
        clock: PlantClock,
    ) -> Result<(Self, HostCalls, JoinHandle<()>)> {
        let state_topic = host::state_topic(id);
        let connected_ms = Arc::new(AtomicI64::new(0));
        let (of_connection, will_topic) = (connected_ms.clone(), state_topic.clone());
        let will = move || {
            let now_ms = clock.now().0 / 1000;
            of_connection.store(now_ms, Ordering::Relaxed);
            Will { topic: will_topic.clone(), payload: host::state_payload(false, now_ms) }
        };
        let topics = nodes.names().map(host::command_topic).chain([state_topic.clone()]);
        let (publisher, task) = Publisher::start_as_host(connection, topics.collect(), will)?;
        let (sender, calls) = mpsc::channel(WAITING);
        let asked = HashMap::new();
        let host_calls = HostCalls { state_topic: state_topic.clone(), calls: sender };
        Ok((
            Self { publisher, state_topic, calls, connected_ms, clock, listening: false, online: false, asked },
            host_calls,
            task,
        ))
    }

    /// Runs until the intake has ended, then says that we are gone.
    pub(crate) async fn run(mut self) {
        let mut state = self.publisher.state();
        loop {
            tokio::select! {
                call = self.calls.recv() => match call {
                    Some(Call::Listening) => {
                        self.listening = true;
                        self.say_online().await;
                    }
                    Some(Call::SaidToBeOffline) => self.say_online().await,
                    Some(Call::Ask(nodes)) => self.ask(nodes).await,
                    None => break,
                },
                changed = state.changed() => {
                    if changed.is_err() {
                        break;
                    }
                    self.online = false;
                    let connected = matches!(&*state.borrow_and_update(), PublisherState::Connected { .. });
                    if connected {
                        self.say_online().await;
                    }
                }
            }
        }
        // The last will says the same if the broker does not hear it.
        let now_ms = self.clock.now().0 / 1000;
        let _ = self.publisher.publish(&self.state_topic, host::state_payload(false, now_ms), true).await;
        self.publisher.close().await;
    }

    async fn say_online(&mut self) {
        if self.listening {
            let state = host::state_payload(true, self.connected_ms.load(Ordering::Relaxed));
            // Not connected: it is said at the next connection.
            self.online = self.publisher.publish(&self.state_topic, state, true).await.is_ok();
        }
    }

    async fn ask(&mut self, nodes: Vec<NodeName>) {
        if !self.online {
            return;
        }
        self.asked.retain(|_, at| at.elapsed() < ASK_AGAIN);
        for node in nodes {
            if self.asked.contains_key(&node) {
                continue;
            }
            let request = host::rebirth_request(self.clock.now().0 / 1000);
            if self.publisher.send(&host::command_topic(&node), request).await.is_ok() {
                tracing::info!("edge node {node} is asked for its birth");
                self.asked.insert(node, Instant::now());
            }
        }
    }
}

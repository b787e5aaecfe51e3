//! Delivers messages at least once and in order, whatever the connection does.
//!
//! Every connection is a new session. What the broker has not acknowledged stays in our own
//! ledger and is sent again, in order, over the next one; so a broker that forgets its sessions
//! loses nothing.

use std::collections::{HashMap, VecDeque};
use std::future::Future;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use rumqttc::v5::mqttbytes::QoS;
use rumqttc::v5::mqttbytes::v5::{Packet, PubAck, PubAckReason};
use rumqttc::v5::{AsyncClient, ConnectionError, Event, EventLoop, MqttOptions};
use tokio::sync::{Notify, watch};

use crate::broker_address::BrokerAddress;

/// What is sent.
#[derive(Debug, Clone)]
pub(crate) struct Message {
    pub(crate) topic: Arc<str>,
    pub(crate) payload: Vec<u8>,
}

/// Where messages come from.
pub(crate) trait Source: Send {
    /// The next message as soon as it is due; none when there are no more. A call that is dropped
    /// before it is ready loses nothing.
    fn next(&mut self) -> impl Future<Output = Option<Message>> + Send;
}

/// What came of a delivery.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Delivered {
    /// Messages handed over for sending.
    pub sent: u64,
    /// Messages that the broker has acknowledged.
    pub acknowledged: u64,
    /// Messages that the broker has refused for good.
    pub refused: u64,
}

const SHORTEST_PAUSE: Duration = Duration::from_millis(100);
const LONGEST_PAUSE: Duration = Duration::from_secs(5);

/// Sends everything that the source gives and waits for the acknowledgements, until `stop` turns
/// true or its sender is gone.
pub(crate) async fn deliver(
    broker: &BrokerAddress,
    client_id: &str,
    mut source: impl Source,
    on_acknowledged: impl FnMut(&Message) + Send,
    mut stop: watch::Receiver<bool>,
) -> Delivered {
    let ledger = Shared::new(on_acknowledged);
    let mut pause = SHORTEST_PAUSE;
    let send_all = async {
        loop {
            let before = ledger.lock().delivered.acknowledged;
            let Err(error) = connection(broker, client_id, &ledger, &mut source).await else {
                return;
            };
            if ledger.lock().delivered.acknowledged > before {
                pause = SHORTEST_PAUSE;
            }
            tracing::warn!(%error, ?pause, "no connection to the broker; trying again");
            tokio::time::sleep(pause).await;
            pause = (pause * 2).min(LONGEST_PAUSE);
        }
    };
    tokio::select! {
        () = send_all => {}
        _ = stop.wait_for(|stop| *stop) => {}
    }
    ledger.lock().delivered
}

/// Uses one connection for as long as it lasts; ends well when everything is acknowledged.
async fn connection(
    broker: &BrokerAddress,
    client_id: &str,
    ledger: &Shared<impl FnMut(&Message) + Send>,
    source: &mut impl Source,
) -> Result<(), ConnectionError> {
    let mut options = MqttOptions::new(client_id, &broker.host, broker.port);
    options.set_keep_alive(Duration::from_secs(30));
    options.set_clean_start(true);
    options.set_outgoing_inflight_upper_limit(400);
    let (client, event_loop) = AsyncClient::new(options, 100);
    ledger.lock().begin_connection();
    tokio::select! {
        error = listen(event_loop, ledger) => Err(error),
        () = talk(&client, ledger, source) => Ok(()),
    }
}

/// Publishes what is left from before and then what comes, and waits until all is acknowledged.
async fn talk(client: &AsyncClient, ledger: &Shared<impl FnMut(&Message) + Send>, source: &mut impl Source) {
    let left = ledger.lock().unacknowledged();
    for message in left {
        publish(client, message).await;
    }
    while let Some(message) = source.next().await {
        ledger.lock().enter(message.clone());
        publish(client, message).await;
    }
    loop {
        let settled = ledger.settled.notified();
        if ledger.lock().is_settled() {
            return;
        }
        settled.await;
    }
}

async fn publish(client: &AsyncClient, message: Message) {
    let Message { topic, payload } = message;
    // Fails only when the event loop is gone, and then this connection ends anyway.
    let _ = client.publish(&*topic, QoS::AtLeastOnce, false, payload).await;
}

async fn listen(mut event_loop: EventLoop, ledger: &Shared<impl FnMut(&Message) + Send>) -> ConnectionError {
    loop {
        match event_loop.poll().await {
            Ok(Event::Outgoing(rumqttc::Outgoing::Publish(id))) => ledger.lock().sent(id),
            Ok(Event::Incoming(Packet::PubAck(ack))) => ledger.acknowledged(&ack),
            Ok(_) => {}
            Err(error) => return error,
        }
    }
}

struct Shared<F> {
    ledger: Mutex<Ledger<F>>,
    settled: Notify,
}

/// What was handed over and is not acknowledged yet.
struct Ledger<F> {
    /// Oldest first, numbered in the order of handing over.
    open: VecDeque<(u64, Message)>,
    next_number: u64,
    /// The message that goes onto this connection next.
    next_on_wire: usize,
    on_wire: HashMap<u16, u64>,
    delivered: Delivered,
    on_acknowledged: F,
}

impl<F: FnMut(&Message)> Shared<F> {
    fn new(on_acknowledged: F) -> Self {
        let ledger = Ledger {
            open: VecDeque::new(),
            next_number: 0,
            next_on_wire: 0,
            on_wire: HashMap::new(),
            delivered: Delivered::default(),
            on_acknowledged,
        };
        Self { ledger: Mutex::new(ledger), settled: Notify::new() }
    }

    fn lock(&self) -> MutexGuard<'_, Ledger<F>> {
        self.ledger.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn acknowledged(&self, ack: &PubAck) {
        let mut ledger = self.lock();
        ledger.close(ack);
        if ledger.is_settled() {
            self.settled.notify_waiters();
        }
    }
}

impl<F: FnMut(&Message)> Ledger<F> {
    fn begin_connection(&mut self) {
        self.on_wire.clear();
        self.next_on_wire = 0;
    }

    fn unacknowledged(&self) -> Vec<Message> {
        self.open.iter().map(|(_, message)| message.clone()).collect()
    }

    fn enter(&mut self, message: Message) {
        self.open.push_back((self.next_number, message));
        self.next_number += 1;
        self.delivered.sent += 1;
    }

    /// The event loop sends in the order in which we publish, so this id is the next message's.
    fn sent(&mut self, id: u16) {
        if let Some((number, _)) = self.open.get(self.next_on_wire) {
            self.on_wire.insert(id, *number);
            self.next_on_wire += 1;
        }
    }

    fn close(&mut self, ack: &PubAck) {
        let Some(number) = self.on_wire.remove(&ack.pkid) else { return };
        let Ok(at) = self.open.binary_search_by_key(&number, |(number, _)| *number) else { return };
        let Some((_, message)) = self.open.remove(at) else { return };
        self.next_on_wire -= 1;
        match ack.reason {
            PubAckReason::Success | PubAckReason::NoMatchingSubscribers => {
                self.delivered.acknowledged += 1;
                (self.on_acknowledged)(&message);
            }
            reason => {
                self.delivered.refused += 1;
                tracing::error!(topic = %message.topic, ?reason, "the broker refuses a message");
            }
        }
    }

    fn is_settled(&self) -> bool {
        self.open.is_empty()
    }
}

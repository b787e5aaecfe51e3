//! One connection to the broker, from CONNECT to its end, in the protocol that the broker speaks.
//!
//! A link is never repaired: when it breaks, it is dropped and another one opened. The client
//! library below can reconnect by itself, but then acknowledgements and publishes of the old
//! connection stay in its queues and confuse the new one.

mod fault;
mod v311;
mod v5;

use std::fmt;
use std::iter;
use std::sync::Arc;
use std::time::Duration;

use fault::Fault;
use tokio::time::timeout;

use crate::{CertificateEnd, ConnectError, Connection};

/// Largest packet taken from the network, in bytes. Larger than what is handed out, so that an
/// oversized message can be reported by name; small enough that it can't exhaust the memory.
pub(crate) const LARGEST_PACKET: usize = 16 << 20;

/// Requests that may wait for the link. Above the number of packet ids, so that an acknowledgement
/// always finds room: only that many messages can be unacknowledged.
const REQUESTS: usize = 1 << 17;

/// Publishes that may wait for the broker's acknowledgement at a time.
const PUBLISHES_IN_FLIGHT: u16 = 1000;

/// How long the broker may take to hear our farewell.
pub(crate) const FAREWELL: Duration = Duration::from_millis(500);

/// How long the broker may take to answer a CONNECT.
const ANSWER_WITHIN: Duration = Duration::from_secs(5);

/// The version of MQTT in which a broker answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Protocol {
    /// MQTT 5.0.
    V5,
    /// MQTT 3.1.1, for brokers that have no 5.
    V311,
}

impl fmt::Display for Protocol {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(match self {
            Self::V5 => "MQTT 5",
            Self::V311 => "MQTT 3.1.1",
        })
    }
}

/// What the broker publishes for us when we vanish without a word: retained, QoS 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Will {
    /// Where.
    pub topic: String,
    /// What.
    pub payload: Vec<u8>,
}

/// Makes the last will of a connection while the connection is made.
pub(crate) type MakeWill = Arc<dyn Fn() -> Will + Send + Sync>;

/// What a connection is for.
#[derive(Clone)]
pub(crate) struct Role {
    /// Added to the client id, since each client needs its own.
    pub(crate) suffix: &'static str,
    /// Whether the broker keeps the session while we are away.
    pub(crate) keeps_session: bool,
    pub(crate) will: Option<MakeWill>,
}

/// What the broker said when it let us in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Greeting {
    pub(crate) protocol: Protocol,
    pub(crate) session_present: bool,
    /// How long the broker will keep the session, where it changed what we asked for.
    pub(crate) session_expiry: Option<Duration>,
    /// Largest packet the broker takes, in bytes.
    pub(crate) largest_packet: usize,
    /// The broker's certificate, where it has shown one.
    pub(crate) certificate: Option<CertificateEnd>,
}

/// A message as it came in.
#[derive(Debug)]
pub(crate) struct Arrival {
    pub(crate) topic: String,
    pub(crate) payload: Vec<u8>,
    pub(crate) retained: bool,
    pub(crate) duplicate: bool,
    /// None for QoS 0, which wants no acknowledgement.
    pub(crate) packet_id: Option<u16>,
}

/// What happens on a link.
#[derive(Debug)]
pub(crate) enum LinkEvent {
    Arrived(Arrival),
    /// Answer to one subscribe request, in the order of the requests: per topic None or a refusal.
    Subscribed(Vec<Option<String>>),
    /// The next publish request, in the order of the requests, left with this packet id.
    Publishing(u16),
    /// The broker has, or refuses, the publish with this packet id.
    Published(u16, Result<(), String>),
    /// The broker has heard our farewell; nothing follows.
    Disconnected,
}

/// An open connection.
pub(crate) struct Link {
    wire: Wire,
    address: String,
    /// Why it ended, once it has.
    fault: Option<Fault>,
}

enum Wire {
    V5(Box<rumqttc::v5::EventLoop>),
    V311(Box<rumqttc::EventLoop>),
}

/// Sends requests over a link, from any thread and without waiting. After the link's end requests
/// go nowhere.
#[derive(Clone)]
pub(crate) enum Requests {
    V5(rumqttc::v5::AsyncClient),
    V311(rumqttc::AsyncClient),
}

impl Link {
    /// Connects with MQTT 5, or with 3.1.1 if the broker does not know 5. Every connection begins
    /// with 5 again: brokers are upgraded, and one that is just stopping also closes early.
    pub(crate) async fn open(connection: &Connection, role: &Role) -> Result<(Self, Requests, Greeting), ConnectError> {
        let encryption = crate::tls::encryption(connection)?;
        let transport = || encryption.transport.clone();
        let opened = match v5::open(connection, role, transport()).await {
            Err(Fault::OtherProtocol | Fault::Closed) => {
                tracing::debug!(address = connection.address(), "no answer in MQTT 5, trying MQTT 3.1.1");
                v311::open(connection, role, transport()).await
            }
            opened => opened,
        };
        let (link, requests, mut greeting) = opened.map_err(|fault| fault.explain(connection))?;
        let ends = encryption.broker_ends_us();
        greeting.certificate = ends.map(|ends_us| CertificateEnd { whose: "the broker's certificate", ends_us });
        Ok((link, requests, greeting))
    }

    /// The next event. Must be awaited to its end: a dropped future may lose a packet that was
    /// half written.
    pub(crate) async fn next(&mut self) -> Result<LinkEvent, ConnectError> {
        while self.fault.is_none() {
            match self.wire.poll().await {
                Ok(Some(LinkEvent::Disconnected)) => {
                    // A socket closed with unread messages in it is reset, and what we sent last
                    // may never be read: so the broker closes first.
                    while self.wire.poll().await.is_ok() {}
                    return Ok(LinkEvent::Disconnected);
                }
                Ok(Some(event)) => return Ok(event),
                Ok(None) => {}
                Err(fault) => self.fault = Some(fault),
            }
        }
        // What came in before the end counts: brokers are known to refuse a publish and close.
        if let Some(event) = self.wire.left_over() {
            return Ok(event);
        }
        let fault = self.fault.take().unwrap_or(Fault::Closed);
        Err(fault.ended(&self.address))
    }
}

impl Wire {
    async fn poll(&mut self) -> Result<Option<LinkEvent>, Fault> {
        match self {
            Self::V5(event_loop) => Ok(v5::event(event_loop.poll().await?)),
            Self::V311(event_loop) => Ok(v311::event(event_loop.poll().await?)),
        }
    }

    /// Events that the client library has seen and not yet told of.
    fn left_over(&mut self) -> Option<LinkEvent> {
        match self {
            Self::V5(event_loop) => iter::from_fn(|| event_loop.state.events.pop_front()).find_map(v5::event),
            Self::V311(event_loop) => iter::from_fn(|| event_loop.state.events.pop_front()).find_map(v311::event),
        }
    }
}

impl Requests {
    /// Acknowledges a message.
    pub(crate) fn acknowledge(&self, packet_id: u16) {
        self.sent(match self {
            Self::V5(client) => v5::acknowledge(client, packet_id),
            Self::V311(client) => v311::acknowledge(client, packet_id),
        });
    }

    /// Subscribes with QoS 1.
    pub(crate) fn subscribe(&self, topics: &[String]) {
        self.sent(match self {
            Self::V5(client) => v5::subscribe(client, topics),
            Self::V311(client) => v311::subscribe(client, topics),
        });
    }

    /// Publishes with QoS 1.
    pub(crate) fn publish(&self, topic: String, payload: Vec<u8>, retain: bool) {
        self.sent(match self {
            Self::V5(client) => v5::publish(client, topic, payload, retain),
            Self::V311(client) => v311::publish(client, topic, payload, retain),
        });
    }

    /// Publishes with QoS 0.
    pub(crate) fn send(&self, topic: String, payload: Vec<u8>) {
        self.sent(match self {
            Self::V5(client) => v5::send(client, topic, payload),
            Self::V311(client) => v311::send(client, topic, payload),
        });
    }

    /// Says farewell after all requests made before. The broker keeps the session, and drops the will.
    pub(crate) fn disconnect(&self) {
        self.sent(match self {
            Self::V5(client) => client.try_disconnect().is_ok(),
            Self::V311(client) => client.try_disconnect().is_ok(),
        });
    }

    /// A request fails only when its link is gone, and a link's end undoes all its requests anyway.
    fn sent(&self, accepted: bool) {
        if !accepted {
            tracing::trace!("request after the end of its connection");
        }
    }
}

/// What a broker answered to an attempt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// In which version of MQTT.
    pub protocol: Protocol,
    /// The certificate that it has shown, where the connection is encrypted.
    pub certificate: Option<CertificateEnd>,
}

/// Connects once, with a client id of its own that touches no session, and leaves again.
///
/// # Errors
/// Why the broker can't be used, and what to change.
pub async fn try_connect(connection: &Connection) -> Result<Answer, ConnectError> {
    connection.check()?;
    let role = Role { suffix: "-check", keeps_session: false, will: None };
    let (mut link, requests, greeting) = Link::open(connection, &role).await?;
    requests.disconnect();
    let farewell = async { while !matches!(link.next().await, Ok(LinkEvent::Disconnected) | Err(_)) {} };
    // We know what we came for, whether or not the broker hears it.
    let _ = timeout(FAREWELL, farewell).await;
    Ok(Answer { protocol: greeting.protocol, certificate: greeting.certificate })
}

//! MQTT 3.1.1 in terms of the client library: for brokers that have no 5. There is no receive
//! maximum, no session expiry and no reason for a refusal here; the broker's settings decide.

use rumqttc::mqttbytes::Error as PacketError;
use rumqttc::{
    AsyncClient, ConnAck, ConnectReturnCode, ConnectionError, Event, LastWill, MqttOptions, Outgoing, Packet, Publish,
    QoS, StateError, SubscribeFilter, SubscribeReasonCode, Transport,
};

use super::fault::{Fault, refused_user, too_large};
use super::{Arrival, Greeting, LARGEST_PACKET, Link, LinkEvent, PUBLISHES_IN_FLIGHT, Protocol, REQUESTS, Requests};
use super::{Role, Wire, v5};
use crate::Connection;

pub(super) async fn open(
    connection: &Connection,
    role: &Role,
    transport: Transport,
) -> Result<(Link, Requests, Greeting), Fault> {
    let (client, mut event_loop) = AsyncClient::new(options(connection, role, transport), REQUESTS);
    event_loop.set_network_options(v5::network());
    loop {
        if let Event::Incoming(Packet::ConnAck(accepted)) = event_loop.poll().await? {
            let link = Link { wire: Wire::V311(Box::new(event_loop)), address: connection.address(), fault: None };
            return Ok((link, Requests::V311(client), greeting(&accepted)));
        }
    }
}

fn options(connection: &Connection, role: &Role, transport: Transport) -> MqttOptions {
    let client_id = format!("{}{}", connection.client_id, role.suffix);
    let mut options = MqttOptions::new(client_id, &connection.host, connection.port);
    options
        .set_clean_session(!role.keeps_session)
        .set_manual_acks(true)
        .set_keep_alive(connection.keep_alive)
        .set_max_packet_size(LARGEST_PACKET, LARGEST_PACKET)
        .set_inflight(PUBLISHES_IN_FLIGHT)
        .set_transport(transport);
    if let Some(username) = &connection.username {
        let password = connection.password.as_ref().map_or("", |password| password.reveal());
        options.set_credentials(username, password);
    }
    if let Some(will) = role.will.as_ref().map(|make| make()) {
        options.set_last_will(LastWill::new(&will.topic, will.payload, QoS::AtLeastOnce, true));
    }
    options
}

fn greeting(accepted: &ConnAck) -> Greeting {
    Greeting {
        protocol: Protocol::V311,
        session_present: accepted.session_present,
        session_expiry: None,
        largest_packet: LARGEST_PACKET,
        certificate: None,
    }
}

pub(super) fn event(event: Event) -> Option<LinkEvent> {
    match event {
        Event::Incoming(Packet::Publish(publish)) => Some(LinkEvent::Arrived(Arrival {
            topic: publish.topic,
            payload: publish.payload.to_vec(),
            retained: publish.retain,
            duplicate: publish.dup,
            packet_id: (publish.qos != QoS::AtMostOnce).then_some(publish.pkid),
        })),
        Event::Incoming(Packet::SubAck(answer)) => {
            let refusals = answer.return_codes.iter().map(|code| match code {
                SubscribeReasonCode::Success(QoS::AtMostOnce) => {
                    Some("granted without acknowledgement (QoS 0)".to_owned())
                }
                SubscribeReasonCode::Success(_) => None,
                SubscribeReasonCode::Failure => Some("refused without a reason".to_owned()),
            });
            Some(LinkEvent::Subscribed(refusals.collect()))
        }
        Event::Incoming(Packet::PubAck(answer)) => Some(LinkEvent::Published(answer.pkid, Ok(()))),
        Event::Outgoing(Outgoing::Publish(packet_id)) => Some(LinkEvent::Publishing(packet_id)),
        Event::Outgoing(Outgoing::Disconnect) => Some(LinkEvent::Disconnected),
        _ => None,
    }
}

pub(super) fn acknowledge(client: &AsyncClient, packet_id: u16) -> bool {
    let mut received = Publish::new("", QoS::AtLeastOnce, Vec::new());
    received.pkid = packet_id;
    client.try_ack(&received).is_ok()
}

pub(super) fn subscribe(client: &AsyncClient, topics: &[String]) -> bool {
    let filters = topics.iter().map(|topic| SubscribeFilter::new(topic.clone(), QoS::AtLeastOnce));
    client.try_subscribe_many(filters).is_ok()
}

pub(super) fn send(client: &AsyncClient, topic: String, payload: Vec<u8>) -> bool {
    client.try_publish(topic, QoS::AtMostOnce, false, payload).is_ok()
}

pub(super) fn publish(client: &AsyncClient, topic: String, payload: Vec<u8>, retain: bool) -> bool {
    client.try_publish(topic, QoS::AtLeastOnce, retain, payload).is_ok()
}

impl From<ConnectionError> for Fault {
    fn from(error: ConnectionError) -> Self {
        match error {
            ConnectionError::Io(error) => Self::from_io(&error),
            ConnectionError::Tls(error) => Self::from_tls(&error),
            ConnectionError::NetworkTimeout | ConnectionError::FlushTimeout => Self::Silent,
            ConnectionError::NotConnAck(_) => Self::OtherProtocol,
            ConnectionError::ConnectionRefused(code) => refusal(code),
            ConnectionError::MqttState(error) => state_fault(error),
            other => Self::Other(other.to_string()),
        }
    }
}

fn refusal(code: ConnectReturnCode) -> Fault {
    match code {
        ConnectReturnCode::RefusedProtocolVersion => Fault::OtherProtocol,
        ConnectReturnCode::BadUserNamePassword | ConnectReturnCode::NotAuthorized => refused_user(),
        ConnectReturnCode::BadClientId => Fault::Refused(format!("{code:?}; choose another `client_id`")),
        other => Fault::Refused(format!("{other:?}")),
    }
}

fn state_fault(error: StateError) -> Fault {
    match error {
        StateError::Io(error) | StateError::Deserialization(PacketError::Io(error)) => Fault::from_io(&error),
        StateError::ConnectionAborted => Fault::Closed,
        StateError::AwaitPingResp => Fault::Silent,
        StateError::Deserialization(PacketError::PayloadSizeLimitExceeded(bytes)) => too_large(bytes),
        StateError::Deserialization(_) => Fault::OtherProtocol,
        other => Fault::Other(other.to_string()),
    }
}

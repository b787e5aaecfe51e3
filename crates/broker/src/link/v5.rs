//! MQTT 5.0 in terms of the client library.

use std::time::Duration;

use rumqttc::v5::mqttbytes::Error as PacketError;
use rumqttc::v5::mqttbytes::QoS;
use rumqttc::v5::mqttbytes::v5::{
    ConnAck, ConnectProperties, ConnectReturnCode, DisconnectReasonCode, Filter, LastWill, Packet, PubAckReason,
    Publish, RetainForwardRule, SubscribeReasonCode,
};
use rumqttc::v5::{AsyncClient, ConnectionError, Event, MqttOptions, StateError};
use rumqttc::{NetworkOptions, Outgoing, Transport};

use super::fault::{Fault, refused_user, too_large};
use super::{ANSWER_WITHIN, Arrival, Greeting, LARGEST_PACKET, Link, LinkEvent, PUBLISHES_IN_FLIGHT, Protocol};
use super::{REQUESTS, Requests, Role, Wire};
use crate::Connection;

pub(super) async fn open(
    connection: &Connection,
    role: &Role,
    transport: Transport,
) -> Result<(Link, Requests, Greeting), Fault> {
    let (client, mut event_loop) = AsyncClient::new(options(connection, role, transport), REQUESTS);
    loop {
        if let Event::Incoming(Packet::ConnAck(accepted)) = event_loop.poll().await? {
            let link = Link { wire: Wire::V5(Box::new(event_loop)), address: connection.address(), fault: None };
            return Ok((link, Requests::V5(client), greeting(&accepted)));
        }
    }
}

fn options(connection: &Connection, role: &Role, transport: Transport) -> MqttOptions {
    let client_id = format!("{}{}", connection.client_id, role.suffix);
    let mut options = MqttOptions::new(client_id, &connection.host, connection.port);
    let session_expiry = if role.keeps_session { connection.session_expiry.as_secs() } else { 0 };
    let mut properties = ConnectProperties::new();
    properties.session_expiry_interval = Some(u32::try_from(session_expiry).unwrap_or(u32::MAX));
    properties.receive_maximum = Some(connection.receive_maximum);
    properties.max_packet_size = u32::try_from(LARGEST_PACKET).ok();
    options
        .set_connect_properties(properties)
        .set_clean_start(!role.keeps_session)
        .set_manual_acks(true)
        .set_keep_alive(connection.keep_alive)
        .set_outgoing_inflight_upper_limit(PUBLISHES_IN_FLIGHT)
        .set_connection_timeout(ANSWER_WITHIN.as_secs())
        .set_network_options(network())
        .set_transport(transport);
    if let Some(username) = &connection.username {
        let password = connection.password.as_ref().map_or("", |password| password.reveal());
        options.set_credentials(username, password);
    }
    if let Some(will) = role.will.as_ref().map(|make| make()) {
        options.set_last_will(LastWill::new(&will.topic, will.payload, QoS::AtLeastOnce, true, None));
    }
    options
}

/// Small packets leave at once: an acknowledgement that waits for company holds up the broker.
pub(super) fn network() -> NetworkOptions {
    let mut network = NetworkOptions::new();
    network.set_tcp_nodelay(true);
    network.set_connection_timeout(ANSWER_WITHIN.as_secs());
    network
}

fn greeting(accepted: &ConnAck) -> Greeting {
    let properties = accepted.properties.as_ref();
    let session_expiry = properties.and_then(|properties| properties.session_expiry_interval);
    let largest_packet = properties.and_then(|properties| properties.max_packet_size);
    Greeting {
        protocol: Protocol::V5,
        session_present: accepted.session_present,
        session_expiry: session_expiry.map(|seconds| Duration::from_secs(seconds.into())),
        largest_packet: largest_packet.map_or(LARGEST_PACKET, |bytes| (bytes as usize).min(LARGEST_PACKET)),
        certificate: None,
    }
}

pub(super) fn event(event: Event) -> Option<LinkEvent> {
    match event {
        Event::Incoming(Packet::Publish(publish)) => Some(LinkEvent::Arrived(Arrival {
            topic: String::from_utf8_lossy(&publish.topic).into_owned(),
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
                refused => Some(format!("{refused:?}")),
            });
            Some(LinkEvent::Subscribed(refusals.collect()))
        }
        Event::Incoming(Packet::PubAck(answer)) => {
            let outcome = match answer.reason {
                PubAckReason::Success | PubAckReason::NoMatchingSubscribers => Ok(()),
                refused => Err(format!("{refused:?}")),
            };
            Some(LinkEvent::Published(answer.pkid, outcome))
        }
        Event::Outgoing(Outgoing::Publish(packet_id)) => Some(LinkEvent::Publishing(packet_id)),
        Event::Outgoing(Outgoing::Disconnect) => Some(LinkEvent::Disconnected),
        _ => None,
    }
}

pub(super) fn acknowledge(client: &AsyncClient, packet_id: u16) -> bool {
    let mut received = Publish::new("", QoS::AtLeastOnce, Vec::new(), None);
    received.pkid = packet_id;
    client.try_ack(&received).is_ok()
}

/// Retained messages are wanted when a subscription is new, not at every reconnect.
pub(super) fn subscribe(client: &AsyncClient, topics: &[String]) -> bool {
    let filters = topics.iter().map(|topic| {
        let mut filter = Filter::new(topic, QoS::AtLeastOnce);
        filter.retain_forward_rule = RetainForwardRule::OnNewSubscribe;
        filter
    });
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
            ConnectionError::Timeout(_) => Self::Silent,
            ConnectionError::NotConnAck(_) => Self::OtherProtocol,
            ConnectionError::ConnectionRefused(code) => refusal(code),
            ConnectionError::MqttState(error) => state_fault(error),
            other => Self::Other(other.to_string()),
        }
    }
}

fn refusal(code: ConnectReturnCode) -> Fault {
    match code {
        ConnectReturnCode::UnsupportedProtocolVersion | ConnectReturnCode::RefusedProtocolVersion => {
            Fault::OtherProtocol
        }
        ConnectReturnCode::BadUserNamePassword | ConnectReturnCode::NotAuthorized => refused_user(),
        ConnectReturnCode::ClientIdentifierNotValid | ConnectReturnCode::BadClientId => {
            Fault::Refused(format!("{code:?}; choose another `client_id`"))
        }
        other => Fault::Refused(format!("{other:?}")),
    }
}

fn state_fault(error: StateError) -> Fault {
    match error {
        StateError::Io(error) | StateError::Deserialization(PacketError::Io(error)) => Fault::from_io(&error),
        StateError::ConnectionAborted => Fault::Closed,
        StateError::AwaitPingResp => Fault::Silent,
        StateError::ServerDisconnect { reason_code: DisconnectReasonCode::SessionTakenOver, .. } => {
            Fault::Refused("another client connected with our client id; each client needs its own".to_owned())
        }
        StateError::ServerDisconnect { reason_code, reason_string } => {
            let detail = reason_string.map_or_else(String::new, |text| format!(": {text}"));
            Fault::Refused(format!("the broker said {reason_code:?}{detail}"))
        }
        StateError::Deserialization(PacketError::PayloadSizeLimitExceeded { pkt_size, .. }) => too_large(pkt_size),
        StateError::Deserialization(_) => Fault::OtherProtocol,
        other => Fault::Other(other.to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_session_taken_over_is_told_in_words_that_help() {
        let error =
            StateError::ServerDisconnect { reason_code: DisconnectReasonCode::SessionTakenOver, reason_string: None };
        let ended = Fault::from(ConnectionError::MqttState(error)).ended("broker:1883").to_string();
        assert_eq!(
            ended,
            "the connection to broker:1883 ended: another client connected with our client id; each client needs its own"
        );
    }

    #[test]
    fn a_packet_above_the_limit_is_told_with_what_to_change() {
        let error =
            StateError::Deserialization(PacketError::PayloadSizeLimitExceeded { pkt_size: 17 << 20, max: 16 << 20 });
        let ended = Fault::from(ConnectionError::MqttState(error)).ended("broker:1883").to_string();
        assert!(ended.contains("17825792 bytes is above the limit of 16777216"), "{ended}");
    }
}

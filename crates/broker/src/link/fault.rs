//! What went wrong on a link, told apart as far as it matters, in words that help.

use std::error::Error;
use std::io;

use crate::{ConnectError, Connection};

/// Why a link could not be opened, or ended.
#[derive(Debug)]
pub(super) enum Fault {
    /// The broker does not speak the protocol we asked for.
    OtherProtocol,
    /// The broker closed the connection without a reason.
    Closed,
    /// The broker did not answer in time.
    Silent,
    /// The network has no way to the broker.
    Unreachable(String),
    /// The encryption failed.
    Tls(String),
    /// The broker gave a reason for not letting us in, or for sending us away.
    Refused(String),
    /// Something else.
    Other(String),
}

impl Fault {
    /// Reads an I/O error, within which a TLS error may hide.
    pub(super) fn from_io(error: &io::Error) -> Self {
        use io::ErrorKind::{BrokenPipe, ConnectionAborted, ConnectionReset, UnexpectedEof};
        let inner = error.get_ref().map(|inner| inner as &(dyn Error + 'static));
        if let Some(tls) = inner.and_then(|inner| inner.downcast_ref::<rustls::Error>()) {
            return Self::Tls(crate::tls::explain(tls));
        }
        match error.kind() {
            ConnectionReset | ConnectionAborted | BrokenPipe | UnexpectedEof => Self::Closed,
            _ => Self::Unreachable(error.to_string()),
        }
    }

    /// Reads an error of the TLS layer.
    pub(super) fn from_tls(error: &rumqttc::TlsError) -> Self {
        match error {
            rumqttc::TlsError::Io(error) => match Self::from_io(error) {
                Self::Closed => {
                    Self::Tls("the broker closed the connection; is this the port for mqtts://?".to_owned())
                }
                fault => fault,
            },
            rumqttc::TlsError::TLS(error) => Self::Tls(crate::tls::explain(error)),
            rumqttc::TlsError::DNSName(_) => {
                Self::Tls("the host in `url` is no name a certificate can carry".to_owned())
            }
            other => Self::Tls(other.to_string()),
        }
    }

    /// The error of an attempt to open a link.
    pub(super) fn explain(self, connection: &Connection) -> ConnectError {
        let address = connection.address();
        match self {
            Self::Unreachable(reason) => ConnectError::Unreachable { address, reason },
            Self::Silent => ConnectError::Unreachable { address, reason: "no answer within 5 s".to_owned() },
            Self::Tls(reason) => ConnectError::Tls { address, reason },
            Self::Refused(reason) | Self::Other(reason) => ConnectError::Refused { address, reason },
            Self::OtherProtocol => {
                ConnectError::Refused { address, reason: "it speaks neither MQTT 5 nor MQTT 3.1.1".to_owned() }
            }
            Self::Closed => ConnectError::Refused {
                address,
                reason: if connection.tls {
                    "it closed the connection without an answer".to_owned()
                } else {
                    "it closed the connection without an answer; if the port expects TLS, write mqtts://".to_owned()
                },
            },
        }
    }

    /// The error of a link that was open.
    pub(super) fn ended(self, address: &str) -> ConnectError {
        let reason = match self {
            Self::Closed => {
                "closed by the broker or the network; if this goes on, look whether another client uses our client id"
                    .to_owned()
            }
            Self::Silent => "the broker no longer answers".to_owned(),
            Self::OtherProtocol => "the broker sent something that is not MQTT".to_owned(),
            Self::Unreachable(reason) | Self::Tls(reason) | Self::Refused(reason) | Self::Other(reason) => reason,
        };
        ConnectError::Ended { address: address.to_owned(), reason }
    }
}

/// Brokers do not say which of the two is wrong.
pub(super) fn refused_user() -> Fault {
    let reason = "it does not know our user or takes another password; look at `username` and `password_file`, and at the \
                  broker's own list of users";
    Fault::Refused(reason.to_owned())
}

/// An incoming packet above the limit ends the connection, and the broker will send it again.
pub(super) fn too_large(bytes: usize) -> Fault {
    Fault::Other(format!(
        "a message of {bytes} bytes is above the limit of {}; set the broker's own limit below it",
        super::LARGEST_PACKET
    ))
}

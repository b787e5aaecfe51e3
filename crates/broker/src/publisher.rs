//! Publishing: the program's own tree of topics, and nothing else.

mod task;

use std::sync::Arc;

use tokio::sync::{mpsc, oneshot, watch};
use tokio::task::JoinHandle;

use crate::link::{Protocol, Will};
use crate::{ConnectError, Connection, topic};
use task::{Command, Message, Task};

/// Messages that may wait to be sent before `publish` itself waits.
const WAITING: usize = 256;

/// Why a message was not published.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PublishError {
    /// The topic is not one this program may write to. Trying again is no use.
    #[error("topic `{topic}` is not a plain name below `{root}/`, the only tree this program writes to")]
    OutsideRoot {
        /// As it was given.
        topic: String,
        /// The tree.
        root: String,
    },
    /// The broker takes no message as large as this. Trying again is no use.
    #[error("a message of {bytes} bytes for `{topic}` is above the {limit} bytes which the broker takes")]
    TooLarge {
        /// As it was given.
        topic: String,
        /// Size of the packet, in bytes.
        bytes: usize,
        /// The broker's limit, in bytes.
        limit: usize,
    },
    /// The broker refused this message; mostly its access list forbids the topic.
    #[error("the broker refuses the message for `{topic}`: {reason}; look at its access list")]
    Refused {
        /// As it was given.
        topic: String,
        /// What the broker said.
        reason: String,
    },
    /// There is no connection, or it ended before the broker had acknowledged the message. Try again
    /// after the reconnect; the broker may then have it twice.
    #[error("the broker has not acknowledged the message: no connection")]
    Disconnected,
}

/// How the publisher stands with the broker.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PublisherState {
    /// Not connected; attempts go on.
    Disconnected {
        /// Why, and what to do about it.
        reason: String,
    },
    /// Connected.
    Connected {
        /// Counts the connections from 1, so that a quick reconnect is seen as well. After each one
        /// the owner publishes `status` anew: the broker may have sent out the last will.
        connection: u64,
        /// In which version the broker speaks with us.
        protocol: Protocol,
    },
}

/// Publishes messages, as a client of its own beside the intake. Cheap to clone.
///
/// When the last clone is dropped, or its task aborted, the connection breaks without a farewell and
/// the broker publishes the last will; [`Publisher::close`] takes leave properly.
#[derive(Debug, Clone)]
pub struct Publisher {
    root: Arc<str>,
    commands: mpsc::Sender<Command>,
    state: watch::Receiver<PublisherState>,
}

impl Publisher {
    /// Starts to connect, on the present Tokio runtime, with `-out` added to the client id; goes on
    /// over every loss of connection. The task is there to be supervised.
    ///
    /// # Errors
    /// A setting that can't work, a `root` that is no plain topic, or a `will` outside of it. That
    /// the broker is away is no error here; see [`Publisher::state`].
    pub fn start(
        connection: Connection,
        will: Option<Will>,
        root: &str,
    ) -> Result<(Self, JoinHandle<()>), ConnectError> {
        connection.check()?;
        if !topic::is_name(root) || root.starts_with('$') || root.ends_with('/') {
            return Err(ConnectError::Topic {
                topic: root.to_owned(),
                reason: "the root of what is published is a plain topic without wildcards, not starting with `$` nor ending with `/`".to_owned(),
            });
        }
        if let Some(will) = will.as_ref().filter(|will| !topic::is_inside(root, &will.topic)) {
            return Err(ConnectError::Topic {
                topic: will.topic.clone(),
                reason: format!("the last will must be a plain topic below `{root}/`"),
            });
        }
        let (commands, requested) = mpsc::channel(WAITING);
        let (state_changes, state) =
            watch::channel(PublisherState::Disconnected { reason: "not connected yet".to_owned() });
        let task = tokio::spawn(Task::new(connection, will, requested, state_changes).run());
        let publisher = Self { root: root.into(), commands, state };
        Ok((publisher, task))
    }

    /// Publishes with QoS 1; returns when the broker has acknowledged it. Messages leave in the
    /// order of the calls. An empty payload with `retain` clears what is retained.
    ///
    /// # Errors
    /// [`PublishError::Disconnected`] is worth another attempt, the others are not.
    pub async fn publish(&self, topic: &str, payload: impl Into<Vec<u8>>, retain: bool) -> Result<(), PublishError> {
        if !topic::is_inside(&self.root, topic) {
            return Err(PublishError::OutsideRoot { topic: topic.to_owned(), root: self.root.to_string() });
        }
        let (outcome, acknowledged) = oneshot::channel();
        let message = Message { topic: topic.to_owned(), payload: payload.into(), retain, outcome };
        let sent = self.commands.send(Command::Publish(message)).await;
        sent.map_err(|_| PublishError::Disconnected)?;
        acknowledged.await.unwrap_or(Err(PublishError::Disconnected))
    }

    /// How things stand with the broker, to be watched.
    pub fn state(&self) -> watch::Receiver<PublisherState> {
        self.state.clone()
    }

    /// Sends what was published before, takes leave of the broker, which then drops the last will,
    /// and ends the task; within half a second. What is not acknowledged by then fails as
    /// [`PublishError::Disconnected`].
    pub async fn close(&self) {
        if self.commands.send(Command::Close).await.is_ok() {
            self.commands.closed().await;
        }
    }
}

//! Publishing: the program's own tree of topics, and nothing else.

mod task;

use std::sync::Arc;

use tokio::sync::{mpsc, oneshot, watch};
use tokio::task::JoinHandle;

use crate::link::{MakeWill, Protocol, Role, Will};
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
    /// The topic is not among those that this client may write to. Trying again is no use.
    #[error("topic `{topic}` is none of those that this client may write to")]
    NotAllowed {
        /// As it was given.
        topic: String,
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
    scope: Scope,
    commands: mpsc::Sender<Command>,
    state: watch::Receiver<PublisherState>,
}

/// What a publisher may write to.
#[derive(Debug, Clone)]
enum Scope {
    Below(Arc<str>),
    Only(Arc<[String]>),
}

impl Scope {
    fn check(&self, topic: &str) -> Result<(), PublishError> {
        match self {
            Self::Below(root) if topic::is_inside(root, topic) => Ok(()),
            Self::Below(root) => Err(PublishError::OutsideRoot { topic: topic.to_owned(), root: root.to_string() }),
            Self::Only(topics) if topics.iter().any(|allowed| allowed == topic) => Ok(()),
            Self::Only(_) => Err(PublishError::NotAllowed { topic: topic.to_owned() }),
        }
    }
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
        let will = will.map(|will| -> MakeWill { Arc::new(move || will.clone()) });
        Ok(Self::start_role(connection, "-out", will, Scope::Below(root.into())))
    }

    /// Starts a client that may write to these topics alone, with `-host` added to the client id. Each connection has a
    /// last will of its own: `will` makes it when the connection is being made.
    ///
    /// # Errors
    /// A setting that can't work, or a topic that is not a plain one.
    pub fn start_as_host(
        connection: Connection,
        topics: Vec<String>,
        will: impl Fn() -> Will + Send + Sync + 'static,
    ) -> Result<(Self, JoinHandle<()>), ConnectError> {
        connection.check()?;
        if let Some(wrong) = topics.iter().find(|topic| !topic::is_name(topic)) {
            let reason = "what is written to is a plain topic without wildcards".to_owned();
            return Err(ConnectError::Topic { topic: wrong.clone(), reason });
        }
        Ok(Self::start_role(connection, "-host", Some(Arc::new(will)), Scope::Only(topics.into())))
    }

    fn start_role(
        connection: Connection,
        suffix: &'static str,
        will: Option<MakeWill>,
        scope: Scope,
    ) -> (Self, JoinHandle<()>) {
        let (commands, requested) = mpsc::channel(WAITING);
        let (state_changes, state) =
            watch::channel(PublisherState::Disconnected { reason: "not connected yet".to_owned() });
        // No session is kept: what the broker has not acknowledged fails, and the caller repeats it.
        let role = Role { suffix, keeps_session: false, will };
        let task = tokio::spawn(Task::new(connection, role, requested, state_changes).run());
        (Self { scope, commands, state }, task)
    }

    /// Publishes with QoS 1; returns when the broker has acknowledged it. Messages leave in the
    /// order of the calls. An empty payload with `retain` clears what is retained.
    ///
    /// # Errors
    /// [`PublishError::Disconnected`] is worth another attempt, the others are not.
    pub async fn publish(&self, topic: &str, payload: impl Into<Vec<u8>>, retain: bool) -> Result<(), PublishError> {
        self.request(topic, payload.into(), retain, true).await
    }

    /// Publishes with QoS 0, not retained; returns when it has left, and nobody knows whether it arrived.
    ///
    /// # Errors
    /// As [`publish`](Self::publish).
    pub async fn send(&self, topic: &str, payload: impl Into<Vec<u8>>) -> Result<(), PublishError> {
        self.request(topic, payload.into(), false, false).await
    }

    async fn request(
        &self,
        topic: &str,
        payload: Vec<u8>,
        retain: bool,
        acknowledged: bool,
    ) -> Result<(), PublishError> {
        self.scope.check(topic)?;
        let (outcome, ended) = oneshot::channel();
        let message = Message { topic: topic.to_owned(), payload, retain, acknowledged, outcome };
        let sent = self.commands.send(Command::Publish(message)).await;
        sent.map_err(|_| PublishError::Disconnected)?;
        ended.await.unwrap_or(Err(PublishError::Disconnected))
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

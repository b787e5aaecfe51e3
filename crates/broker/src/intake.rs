//! Taking in messages: subscribe, hand out, reconnect.

mod task;

use std::sync::Arc;

use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;

use crate::ledger::{Acknowledger, Token};
use crate::link::Protocol;
use crate::outlet::Outlet;
use crate::{CertificateEnd, ConnectError, Connection, topic};
use task::Task;

/// Tells the time of receipt in microseconds since 1970-01-01T00:00:00Z. Passed in, so that a
/// demonstration can run its plant faster than time.
pub type Clock = Arc<dyn Fn() -> i64 + Send + Sync>;

/// A message, to be acknowledged when it is safe.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Delivery {
    /// Its topic.
    pub topic: String,
    /// Its content.
    pub payload: Vec<u8>,
    /// Whether the broker had it stored: it tells what was, not what has just happened.
    pub retained: bool,
    /// Whether the broker sent it before and had no acknowledgement.
    pub duplicate: bool,
    /// When it came in, in microseconds since 1970-01-01T00:00:00Z.
    pub received_us: i64,
    /// To give to [`Acknowledger::acknowledge`] when the message is safe.
    pub token: Token,
}

/// A topic the broker would not subscribe us to, or not with acknowledgements.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RefusedTopic {
    /// The topic as it was asked for.
    pub topic: String,
    /// What the broker said.
    pub reason: String,
}

/// What happens at the intake, in the order in which it happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum IntakeEvent {
    /// The broker let us in.
    Connected {
        /// Whether it still had our session; if not, messages sent while we were away are lost.
        session_present: bool,
        /// In which version it speaks with us.
        protocol: Protocol,
        /// The certificate that it has shown, where the connection is encrypted.
        certificate: Option<CertificateEnd>,
    },
    /// The broker answered to all topics.
    Subscribed {
        /// Those that will not arrive as they should.
        refused: Vec<RefusedTopic>,
    },
    /// Messages in order of receipt; at least one.
    Delivered(Vec<Delivery>),
    /// A message above [`Connection::largest_payload`] was acknowledged and dropped.
    TooLarge {
        /// Its topic.
        topic: String,
        /// Its size, in bytes.
        bytes: usize,
        /// When it came in, in microseconds since 1970-01-01T00:00:00Z.
        received_us: i64,
    },
    /// Messages published without acknowledgement (QoS 0) came faster than they were taken, and
    /// were dropped. Messages with acknowledgement are never dropped.
    Dropped {
        /// How many since the last such event.
        messages: u64,
    },
    /// The connection ended or could not be made; another attempt follows.
    Disconnected {
        /// Why, and what to do about it.
        reason: String,
    },
}

/// A running intake, in the parts that its owner gives to different hands.
pub struct Intake {
    /// What happens, messages above all. It ends after [`IntakeStop::stop_deliveries`], behind the
    /// last message. It may be left full: then the broker waits, and nothing is lost. Dropping it
    /// ends the intake at the next message.
    pub events: mpsc::Receiver<IntakeEvent>,
    /// Takes back the tokens of messages that are safe.
    pub acknowledger: Acknowledger,
    /// Ends the intake.
    pub stop: IntakeStop,
    /// The task behind it all, to be supervised. Aborting it drops the connection without a word.
    pub task: JoinHandle<()>,
}

/// Ends an intake in two steps, so that the last messages can still be acknowledged between them.
#[derive(Debug, Clone)]
pub struct IntakeStop {
    phase: Arc<watch::Sender<Phase>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd)]
enum Phase {
    Delivering,
    Acknowledging,
    Ended,
}

impl IntakeStop {
    /// Hands out no further message; later ones stay with the broker. The events end behind those
    /// that already came in. Acknowledgements still go out.
    pub fn stop_deliveries(&self) {
        self.advance(Phase::Acknowledging);
    }

    /// Sends the acknowledgements given so far, takes leave of the broker and ends the task, all
    /// within half a second.
    pub fn end(&self) {
        self.advance(Phase::Ended);
    }

    fn advance(&self, to: Phase) {
        self.phase.send_if_modified(|phase| {
            let forward = to > *phase;
            if forward {
                *phase = to;
            }
            forward
        });
    }
}

impl Intake {
    /// Starts taking in `topics` (with `+` and `#` as wildcards) on the present Tokio runtime, and
    /// goes on over every loss of connection until it is stopped.
    ///
    /// # Errors
    /// A setting or topic that can't work. That the broker is away is no error here; it is an event.
    pub fn start(connection: Connection, topics: Vec<String>, clock: Clock) -> Result<Self, ConnectError> {
        connection.check()?;
        topics.iter().try_for_each(|topic| topic::check_filter(topic))?;
        let (outlet, events) = Outlet::new();
        let acknowledger = Acknowledger::new();
        let (phase, phase_changes) = watch::channel(Phase::Delivering);
        let task = Task::new(connection, topics, clock, outlet, acknowledger.clone(), phase_changes);
        Ok(Self { events, acknowledger, stop: IntakeStop { phase: Arc::new(phase) }, task: tokio::spawn(task.run()) })
    }
}

//! Sparkplug B 3.0 (the open standard of the Eclipse Foundation): from the messages of edge nodes to readings.
//!
//! An edge node introduces itself with a *birth* that names its metrics; what it sends afterwards may say only their
//! numbers (*aliases*). Follow one message: [`Nodes::receive`] finds its node and device by the [`Topic`], decodes the
//! protobuf ([`wire`]), names each metric by the births heard so far ([`birth`]), makes of its datatype a number or a text
//! ([`value`]), and counts the sequence numbers ([`sequence`]), so that a message that never came is seen to be missing.
//!
//! What a message means must depend on nothing but what is stored. The births and the sequence numbers are therefore
//! [notes](Nodes::take_notes), to be stored in the transaction that stores the readings named by them, and
//! [`Nodes::restore`] goes on from them. What no birth names gives no reading: it is a
//! [`Rejection`](reading::payload::Rejection), and the node is one that should be asked for its birth again.
//!
//! A *death*, of a node or of a device, ends what its metrics said: each gets a reading without a value, of bad quality,
//! right behind the last thing heard of the node. (The time of a death itself is not told: a node's last will is written
//! when it connects.) So does a metric that says it has no value (`is_null`). A birth tells every value anew.
//!
//! Messages need no sorting: each reading carries its own time. Only a birth changes what later ones mean, so a message
//! that is out of sequence *and* older than the birth in force is not named by it.
//!
//! Deliberately absent: no network, no clock, no disk. Commands are limited to one, "send your birth again"
//! ([`host::rebirth_request`]), and nobody has to send it. Data sets, templates, arrays and files are no measured values.

pub mod birth;
pub mod host;
pub mod sequence;
pub mod topic;
pub mod value;
pub mod wire;

mod node;
mod nodes;

pub use nodes::{Lost, Nodes};
pub use topic::{MessageKind, NodeName, Topic};

//! From a payload to a reading, and from readings to windows of event time.
//!
//! Follow one message: [`decode`](payload::decode) turns topic and payload into [`Reading`]s by the
//! [`SignalMap`]; [`WindowBuilder`] lays them on windows of 30 s of *event* time, one builder a line,
//! and finds each window's [`RunningState`]; [`ShiftCalendar`] says in which shift a moment lies.
//!
//! Nothing here reads a clock, a file or the network: times come in as arguments. That is what
//! makes a replayed day equal to the day as it was lived.

pub mod builder;
pub mod payload;
pub mod plant;
pub mod quantity;
pub mod running_state;
pub mod shift;
pub mod signal;
pub mod time;
pub mod trouble;
pub mod unit;
pub mod window;

mod rest;
mod series;
mod slot;
mod value;

pub use builder::{Placed, WindowBuilder, WindowSettings};
pub use plant::{Firing, Line, Plant, Product, Shape, Zone};
pub use quantity::Quantity;
pub use running_state::RunningState;
pub use series::{LineSeries, NumberSeries};
pub use shift::{ShiftCalendar, ShiftInstance};
pub use signal::{LineIndex, PayloadFormat, Signal, SignalId, SignalMap};
pub use time::{Span, Timestamp};
pub use trouble::{Trouble, TroubleKind};
pub use value::{Quality, Reading, Value};
pub use window::{Window, ZoneWindow};

//! From windows and a normal profile to alerts.
//!
//! Follow one window: [`Watch`] lays readings on windows and hands each to its [`LineWatch`];
//! [`RiseTracker`](rise::RiseTracker) says whether the band runs faster than it did;
//! [`evidence`] compares every zone *with itself before the rise*, once the new rate has reached it,
//! against the change that practice makes of such a rise; [`Finding`] says what the signs mean; evidence
//! that lasts becomes one [`Alert`]. Beside the rises a line is watched for departures from its normal,
//! for steam that does nothing, for the hard limit of zone 3 and for signals that are not to be believed.
//!
//! From then on people answer it: [`AlertState`] says which way leads from where, and [`Suppression`]
//! keeps a kind of alert quiet on a line. None of that changes what the next window is judged by.
//!
//! Deliberately absent: clocks, files, MQTT. Time is the time of the readings, so that a replayed
//! day raises the alerts of the day as it was lived.

pub mod advice;
pub mod evidence;
pub mod history;
pub mod message;
pub mod response;
pub mod rise;
pub mod settings;
pub mod unanswered;

mod alert;
mod arrival;
mod attribution;
mod context;
mod delayed;
mod departure_watch;
mod finding;
mod following;
mod identity;
mod judgement;
mod lifecycle;
mod limit_watch;
mod line_watch;
mod practice;
mod rates;
mod recent;
mod rise_watch;
mod sensor_watch;
mod standing;
mod state;
mod steam_watch;
mod suppression;
mod watch;

pub use alert::{Advice, Alert, Kind, Priority, SpeedChange, ZoneFigures};
pub use finding::Finding;
pub use identity::raised_at;
pub use judgement::Judgement;
pub use lifecycle::{Answer, Comment};
pub use line_watch::{LineEvent, LineWatch, Load, LoadState};
pub use rates::{Call, HIGH_SHARE, Rates};
pub use settings::{Delays, DetectionSettings};
pub use state::{AlertState, Forbidden, Transition};
pub use suppression::{Refusal, ShelfLimits, Suppression};
pub use watch::{Event, Normals, Watch};

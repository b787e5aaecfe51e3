//! The API under `/api/v1`: its routes, its wire types, and what it asks of the program.
//!
//! Follow one request: `routes` names its handler; the handler reads the parameters and [`ask`]s the program through
//! [`Answers`]; what comes back is a plain struct of this module, or a [`Refusal`]. One file holds one subject: its
//! types and its handlers.

mod alert;
mod answers;
mod ask;
mod change;
mod document;
mod history;
mod line;
mod manual;
mod normal;
mod paging;
mod parameters;
mod profile;
mod routes;
mod shift;
mod signal;
mod storage;
mod tagged;

pub use alert::{
    Advice, Alert, AlertChange, AlertComment, AlertQuery, AlertRates, AlertRecord, AlertSuppression, SpeedChange,
    ZoneEvidence,
};
pub use answers::{Answers, AuditEntry, Moment, NumberedAlert, Period, Person, Refusal};
pub use change::Suppress;
pub use history::{History, HistoryQuery, Rise, ZoneHistory};
pub use line::{Line, Lines, Product, Zone};
pub use normal::{
    Band, Change, Normal, NormalChange, NormalDifference, NormalSide, NormalSpeed, ZoneChange, ZoneNormal,
};
pub use paging::Page;
pub use profile::{Figure, Profile, ZoneProfile};
pub use shift::{Shift, ShiftRow, ShiftTable};
pub use signal::Signal;
pub use storage::{Gap, Quarantine, QuarantinedPayload, StoreSize};

pub(crate) use ask::ask;
pub(crate) use change::Body;
pub(crate) use paging::Paging;
pub(crate) use parameters::{Names, Parameters, wrong};
pub(crate) use routes::{WrongRequest, router};
pub(crate) use shift::check_date;

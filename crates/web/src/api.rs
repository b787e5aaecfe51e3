//! The API under `/api/v1`: its routes, its wire types, and what it asks of the program.
//!
//! Follow one request: `routes` names its handler; the handler reads the parameters and [`ask`]s the program through
//! [`Answers`]; what comes back is a plain struct of this module, or a [`Refusal`]. One file holds one subject: its
//! types and its handlers.

mod alert;
mod answers;
mod ask;
mod history;
mod line;
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
pub use answers::{Answers, Moment, Period, Refusal};
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
pub(crate) use parameters::Names;
pub(crate) use routes::router;
pub(crate) use shift::check_date;

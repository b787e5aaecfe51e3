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
mod energy;
mod history;
mod line;
mod manual;
mod normal;
mod paging;
mod parameters;
mod profile;
mod rate_change;
mod rate_review;
mod routes;
mod shift;
mod signal;
mod storage;
mod tagged;
mod transit;

pub use alert::{
    Advice, Alert, AlertChange, AlertComment, AlertQuery, AlertRates, AlertRecord, AlertReview, AlertSuppression,
    SpeedChange, ZoneEvidence,
};
pub use answers::{
    Answers, AuditEntry, EnergyAnswers, Moment, NumberedAlert, Period, Person, RateAnswers, Refusal, TransitAnswers,
};
pub use change::Suppress;
pub use energy::{
    EnergyAccount, EnergyBaseline, EnergyBeyond, EnergyBy, EnergyColumn, EnergyFactors, EnergyQuery, EnergyRecord,
    EnergySaving, EnergyTurn, EnergyVariable, MissingForEnergy,
};
pub use history::{History, HistoryQuery, Rise, ZoneHistory};
pub use line::{Line, Lines, Product, Zone};
pub use normal::{
    Band, Change, Normal, NormalChange, NormalDifference, NormalSide, NormalSpeed, ZoneChange, ZoneNormal,
};
pub use paging::Page;
pub use profile::{Figure, Profile, ZoneProfile};
pub use rate_change::{Agreement, Party, Proposal, RateChange, RateChangeState, RateOutcome, Signature, ZoneOutcome};
pub use rate_review::{
    CarriedSpeeds, ForetoldZone, Rate, RateEnergy, RateProfile, RateQuestion, RateReview, Remedy, RemedyKind,
    RemedySetting, ZoneAlone, ZoneCeiling,
};
pub use shift::{Shift, ShiftRow, ShiftTable};
pub use signal::Signal;
pub use storage::{Gap, Quarantine, QuarantinedPayload, StoreSize};
pub use transit::{
    DoughSurface, KeptTransitRun, LeftOutRows, SteamInjector, TransitChange, TransitColumns, TransitComparison,
    TransitFile, TransitPeak, TransitPoint, TransitRun, TransitSummary, TransitZone,
};

pub(crate) use ask::{ask, ask_at_length};
pub(crate) use change::Body;
pub(crate) use paging::Paging;
pub(crate) use parameters::{Names, Parameters, wrong};
pub(crate) use rate_review::review_sheet;
pub(crate) use routes::{WrongRequest, router};
pub(crate) use shift::check_date;
pub(crate) use transit::run_sheet;

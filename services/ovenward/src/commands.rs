//! What a person asks for, one file a command.

mod alerts;
mod backfill;
mod connect;
mod duration;
mod energy;
mod export;
mod lake;
mod learn;
pub(crate) mod normals;
mod quarantine;
pub(crate) mod rate;
mod replay;
mod serve;
mod shifts;
mod sql;
mod store;
mod transit;
mod user;

pub(crate) use alerts::write_figures;
pub use alerts::{AlertsArguments, alerts};
pub use backfill::{BackfillArguments, backfill};
pub use connect::{check_broker, check_receivers};
pub use energy::{EnergyArguments, energy};
pub(crate) use export::ALERTS;
pub use export::{ExportArguments, export};
pub use lake::{LakeArguments, check_lake, lake};
pub use learn::{LearnArguments, learn, learn_product};
pub(crate) use learn::{learn_balance, products};
pub use normals::{NormalsCommand, normals};
pub use quarantine::{QuarantineArguments, quarantine};
pub use rate::{RateArguments, rate};
pub use replay::{ReplayArguments, replay};
pub use serve::{ServeArguments, serve};
pub use shifts::{ShiftsArguments, shifts};
pub use sql::{SqlCommand, check_database, sql};
pub use store::{StoreArguments, store};
pub use transit::{TransitArguments, transit};
pub use user::{UserCommand, user};

/// How a result is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum TextOrJson {
    /// For people.
    Text,
    /// For programs.
    Json,
}

//! What a person asks for, one file a command.

mod alerts;
mod backfill;
mod learn;
mod normals;
mod replay;
mod serve;
mod shifts;
mod store;

pub(crate) use alerts::write_figures;
pub use alerts::{AlertsArguments, alerts};
pub use backfill::backfill;
pub(crate) use learn::products;
pub use learn::{LearnArguments, learn, learn_product};
pub use normals::{NormalsCommand, normals};
pub use replay::{ReplayArguments, replay};
pub use serve::{serve, try_broker};
pub use shifts::{ShiftsArguments, shifts};
pub use store::{StoreArguments, store};

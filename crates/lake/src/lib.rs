//! An object store shared by many plants: what is whole is copied there, once, and verified.
//!
//! ```text
//! KIND/site=SITE/…/NAME-CHECKSUM.ENDING      objects: never changed, never removed
//! manifests/site=SITE/date=DATE.json         which of them count, of one day (UTC)
//! manifests/site=SITE/plant.json             which of them describe the plant as it is now
//! owners/site=SITE.json                      which store the site's part belongs to
//! ```
//!
//! The name of an object holds the beginning of its SHA-256: to bring it a second time does nothing, and two that differ
//! never share a name. A manifest is written after everything it lists and replaced as a whole. Whoever goes by the
//! manifests sees a day as it was or as it is, and each reading once, whenever a plant was cut off.
//!
//! [`SiteLake`] can reach its own site's paths and no other's. What is worth bringing, and when, is the caller's to say;
//! nothing is ever deleted here, but for the probe of [`SiteLake::try_out`].

mod access;
mod checksum;
mod error;
mod layout;
mod manifest;
mod open;
mod place;
mod site;
#[cfg(test)]
mod tests;

pub use access::Access;
pub use checksum::sha256;
pub use error::LakeError;
pub use layout::{Chapter, Kind, folder_name};
pub use manifest::{FORMAT, Manifest, Object};
pub use place::{NoPlace, Place, Service};
pub use site::{Brought, Condition, How, NewObject, SiteLake};

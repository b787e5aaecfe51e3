//! What somebody may do.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What somebody may do; each may what those before it may.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Look.
    Viewer,
    /// Acknowledge, comment, shelve, take out of service; propose a rate change, say that it was made, look at it after.
    Lead,
    /// Approve and retire normals, agree to rate changes, take in runs of a travelling logger.
    Engineer,
    /// See who changed what.
    Admin,
}

impl Role {
    /// Every role.
    pub const ALL: [Self; 4] = [Self::Viewer, Self::Lead, Self::Engineer, Self::Admin];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Viewer => "viewer",
            Self::Lead => "lead",
            Self::Engineer => "engineer",
            Self::Admin => "admin",
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for Role {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let known = Self::ALL.into_iter().find(|role| role.name() == text);
        known.ok_or_else(|| format!("{text:?} is no role; write one of {}", Self::ALL.map(Self::name).join(", ")))
    }
}

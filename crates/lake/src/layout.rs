//! Where everything lies in a lake.

use std::fmt;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// What an object holds; the first folder of its path.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// Sealed readings of one line and day (UTC), Parquet.
    Readings,
    /// The shift profile table of one line and shift, Parquet.
    Shifts,
    /// When what was baked on one line in one shift, Parquet.
    Stretches,
    /// What the config says about the plant, JSON.
    Plant,
    /// A version of a normal, JSON.
    Normals,
    /// What an approved normal expects at each bake time, Parquet.
    Profiles,
}

impl Kind {
    /// Every kind.
    pub(crate) const ALL: [Self; 6] =
        [Self::Readings, Self::Shifts, Self::Stretches, Self::Plant, Self::Normals, Self::Profiles];

    /// The first folder of its path.
    #[must_use]
    pub fn folder(self) -> &'static str {
        match self {
            Self::Readings => "readings",
            Self::Shifts => "shifts",
            Self::Stretches => "stretches",
            Self::Plant => "plant",
            Self::Normals => "normals",
            Self::Profiles => "profiles",
        }
    }
}

/// What one manifest tells of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Chapter {
    /// The readings of a day (UTC), and the shifts that ended on it.
    Day(NaiveDate),
    /// The plant and its normals, as they are now.
    Plant,
}

impl fmt::Display for Chapter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Day(date) => write!(f, "date={date}"),
            Self::Plant => f.write_str("plant"),
        }
    }
}

/// A name in which every character may stand in a path: those that may not are written `_HEX_`, so that no two names
/// become one.
#[must_use]
pub fn folder_name(name: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
    name.chars().map(|c| if plain(c) { c.to_string() } else { format!("_{:X}_", u32::from(c)) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_stay_apart_and_can_stand_in_a_path() {
        assert_eq!(folder_name("T-800"), "T-800");
        let names = ["a/b", "a_b", "a_2F_b", "..", "a b", "ä"].map(folder_name);
        let distinct: std::collections::BTreeSet<_> = names.iter().collect();
        assert_eq!(distinct.len(), names.len(), "{names:?}");
        assert!(names.iter().all(|name| !name.contains(['/', ' ', '.']) && name.is_ascii()), "{names:?}");
    }
}

//! What counts: the list that is written last.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::layout::{Chapter, Kind};

/// Name and version of the layout, as every manifest states it.
pub const FORMAT: &str = "ovenward-lake-1";

/// The objects of one site that count, of one day or of the plant as it is now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// [`FORMAT`].
    pub format: String,
    /// The site's id.
    pub site: String,
    /// The day (UTC); none for the plant's own manifest.
    pub date: Option<NaiveDate>,
    /// Version of the program that wrote it.
    pub program: String,
    /// What counts, and nothing else does.
    pub objects: Vec<Object>,
}

/// An object that counts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Object {
    /// What it holds.
    pub kind: Kind,
    /// Where it lies, from the lake's root.
    pub path: String,
    /// Its size.
    pub bytes: u64,
    /// SHA-256, 64 hexadecimal digits.
    pub sha256: String,
    /// The line it tells of; none for the plant.
    pub line: Option<String>,
    /// How many rows it has; none for JSON.
    pub rows: Option<u64>,
}

impl Manifest {
    /// A manifest of this program's layout.
    #[must_use]
    pub fn new(site: &str, chapter: Chapter, program: &str, objects: Vec<Object>) -> Self {
        let date = match chapter {
            Chapter::Day(date) => Some(date),
            Chapter::Plant => None,
        };
        Self { format: FORMAT.to_owned(), site: site.to_owned(), date, program: program.to_owned(), objects }
    }

    /// What it tells of.
    #[must_use]
    pub fn chapter(&self) -> Chapter {
        self.date.map_or(Chapter::Plant, Chapter::Day)
    }

    /// Readings of a line that it lists.
    #[must_use]
    pub fn readings_of(&self, line: &str) -> u64 {
        let of_line = |object: &&Object| object.kind == Kind::Readings && object.line.as_deref() == Some(line);
        self.objects.iter().filter(of_line).filter_map(|object| object.rows).sum()
    }
}

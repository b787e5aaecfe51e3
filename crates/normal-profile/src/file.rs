//! The file of a normal: JSON with a format number and a checksum over its content.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::checksum::Checksum;
use crate::normal::{Normal, NormalRecord};
use crate::statistics::LinearError;

/// The format that this program writes and reads.
pub const FORMAT: u32 = 1;

/// Why a file was refused.
#[derive(Debug, Error)]
pub enum FileError {
    /// Not JSON, or not the fields of a normal.
    #[error("this is not the file of a normal: {0}")]
    Unreadable(#[from] serde_json::Error),
    /// Written by a program of another time.
    #[error("the file has format {found}; this program reads format {FORMAT}: learn the normal again")]
    OtherFormat {
        /// The format found.
        found: u32,
    },
    /// Damaged, or edited by hand.
    #[error(
        "the checksum of normal {key} is {found}, the file says {stated}: it was damaged or edited; restore it or learn it again"
    )]
    Changed {
        /// The normal.
        key: String,
        /// What the file says.
        stated: String,
        /// What its content gives.
        found: String,
    },
    /// Parameters that no mixture can have.
    #[error("the parameters of the normal cannot be used: {0}")]
    Unusable(#[from] LinearError),
}

/// What is read first, whatever else the file holds.
#[derive(Deserialize)]
struct Format {
    format: u32,
}

#[derive(Serialize)]
struct Written<'a> {
    format: u32,
    checksum: String,
    normal: &'a NormalRecord,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Read {
    #[serde(rename = "format")]
    _format: u32,
    checksum: String,
    normal: NormalRecord,
}

impl Normal {
    /// The file's content. The same normal gives the same bytes.
    pub fn to_json(&self) -> String {
        let file = Written { format: FORMAT, checksum: checksum(&self.record), normal: &self.record };
        // Plain structs of numbers and text always serialise.
        serde_json::to_string_pretty(&file).unwrap_or_default()
    }

    /// Reads a file's content; refuses another format, a changed content and unusable parameters.
    pub fn from_json(text: &str) -> Result<Self, FileError> {
        let Format { format } = serde_json::from_str(text)?;
        if format != FORMAT {
            return Err(FileError::OtherFormat { found: format });
        }
        let file: Read = serde_json::from_str(text)?;
        let found = checksum(&file.normal);
        if found != file.checksum {
            return Err(FileError::Changed { key: file.normal.key.to_string(), stated: file.checksum, found });
        }
        Ok(Self::from_record(file.normal)?)
    }
}

/// Over the compact form, so that white space does not count. Numbers are written with the fewest
/// digits that read back to the same bits, so reading and writing again gives the same text.
fn checksum(record: &NormalRecord) -> String {
    let mut checksum = Checksum::new();
    checksum.add(serde_json::to_string(record).unwrap_or_default().as_bytes());
    checksum.digits()
}

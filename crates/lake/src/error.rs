//! Why a lake could not do what it was asked.

use std::path::PathBuf;

use object_store::Error;
use thiserror::Error as ThisError;

use crate::place::Place;

/// Why a lake could not do what it was asked. What was there before is there as it was.
#[derive(Debug, ThisError)]
pub enum LakeError {
    /// The file of the key.
    #[error("the key of the lake, {}: {source}; let the service's user read it", file.display())]
    KeyFile {
        /// The file.
        file: PathBuf,
        /// Why it cannot be read.
        source: std::io::Error,
    },
    /// The settings do not make a client.
    #[error("{place} cannot be used with these settings: {detail}")]
    Settings {
        /// Where.
        place: String,
        /// What is wrong with them.
        detail: String,
    },
    /// It does not let us do this.
    #[error(
        "{place} does not let us {doing}: look at key_id and key_file of [lake], or at the environment, and at what the key may do ({detail})"
    )]
    Refused {
        /// Where.
        place: String,
        /// What was tried.
        doing: String,
        /// What it answered.
        detail: String,
    },
    /// There is no such bucket, container or folder.
    #[error("there is no {place}: make it, or mount what belongs there ({detail})")]
    Nowhere {
        /// Where.
        place: String,
        /// What it answered.
        detail: String,
    },
    /// Anything else: the network, mostly.
    #[error("cannot {doing} at {place}: {detail}")]
    Failed {
        /// Where.
        place: String,
        /// What was tried.
        doing: String,
        /// What happened.
        detail: String,
    },
    /// It does not give back what it was given.
    #[error("{place} does not give {path} back as it was sent, also not after it was sent again: do not trust it")]
    Altered {
        /// Where.
        place: String,
        /// The object.
        path: String,
    },
    /// Something else lies where a manifest or an owner should.
    #[error("{path} at {place} is not what this program writes there ({detail}): look who else writes there")]
    Foreign {
        /// Where.
        place: String,
        /// The object.
        path: String,
        /// What is wrong with it.
        detail: String,
    },
    /// Two stores with one site's id.
    #[error(
        "site {site} at {place} belongs to another store ({owner}): give this plant another id, or, if this store takes its place, say `ovenward lake push --take-over`"
    )]
    OfAnother {
        /// Where.
        place: String,
        /// The site.
        site: String,
        /// The other store.
        owner: String,
    },
}

/// Longest answer of a store that is shown.
const LONGEST_DETAIL: usize = 300;

impl LakeError {
    /// What an error of the client means.
    pub(crate) fn of(place: &Place, doing: impl Into<String>, error: &Error) -> Self {
        let (place, doing, detail) = (place.to_string(), doing.into(), shortened(&error.to_string()));
        match error {
            Error::PermissionDenied { .. } | Error::Unauthenticated { .. } => Self::Refused { place, doing, detail },
            Error::NotFound { .. } => Self::Nowhere { place, detail },
            _ => Self::Failed { place, doing, detail },
        }
    }
}

fn shortened(text: &str) -> String {
    let mut words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if let Some((cut, _)) = words.char_indices().nth(LONGEST_DETAIL) {
        words.truncate(cut);
        words.push('…');
    }
    words
}

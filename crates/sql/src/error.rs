//! What goes wrong with a database, in the words of whoever can put it right.

use std::error::Error as StdError;

use thiserror::Error;
use tokio_postgres::error::SqlState;

use crate::address::Address;
use crate::tls;

/// What went wrong with a database. Of a transaction nothing is kept then.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum SqlError {
    /// Nobody answers there.
    #[error("cannot reach {host}: {reason}. Is the server up, the name and the port right, and the network open?")]
    Unreachable {
        /// Where.
        host: String,
        /// What the network said.
        reason: String,
    },
    /// The way cannot be encrypted as it must be.
    #[error("{host} answers and cannot be trusted: {reason}")]
    Untrusted {
        /// Who.
        host: String,
        /// What is wrong with its certificate.
        reason: String,
    },
    /// Wrong password, or a user that may not come from here.
    #[error("{host} does not let {user} in: {reason}. Look at the password, and at pg_hba.conf of the server")]
    NotLetIn {
        /// Who.
        host: String,
        /// As whom.
        user: String,
        /// What the server said.
        reason: String,
    },
    /// No such database.
    #[error("{host} has no database {database}: create it, or name another in the url")]
    NoDatabase {
        /// Who.
        host: String,
        /// Which.
        database: String,
    },
    /// The user may not do that.
    #[error("{user} lacks a right in {database}: {reason}. {advice}")]
    NoRights {
        /// Who.
        user: String,
        /// Where.
        database: String,
        /// What the server said.
        reason: String,
        /// What to grant.
        advice: String,
    },
    /// A later program made the tables.
    #[error(
        "the tables in {database} have version {found}, and this program knows up to {known}: run the newer program that made them"
    )]
    TooNew {
        /// Where.
        database: String,
        /// The version there.
        found: i32,
        /// The newest that we know.
        known: i32,
    },
    /// The connection is gone.
    #[error("the connection to {host} is gone: {reason}")]
    Gone {
        /// To whom.
        host: String,
        /// Why.
        reason: String,
    },
    /// The server refused what we asked.
    #[error("{database} refused: {reason}")]
    Refused {
        /// Where.
        database: String,
        /// What the server said.
        reason: String,
    },
    /// A query that cannot be used.
    #[error("the query {reason}\n    write: {advice}")]
    Query {
        /// What is wrong with it.
        reason: String,
        /// What to write instead.
        advice: String,
    },
}

impl SqlError {
    /// What an error of the client library means.
    pub(crate) fn of(address: &Address, error: &tokio_postgres::Error) -> Self {
        let (host, database, user) = (address.host(), address.database().to_owned(), address.user().to_owned());
        let Some(said) = error.as_db_error() else { return Self::of_the_way(host, user, error) };
        let reason = [Some(said.message()), said.detail(), said.hint()].into_iter().flatten();
        let reason = reason.collect::<Vec<_>>().join("; ");
        match said.code() {
            &SqlState::INVALID_PASSWORD | &SqlState::INVALID_AUTHORIZATION_SPECIFICATION => {
                Self::NotLetIn { host, user, reason }
            }
            &SqlState::INVALID_CATALOG_NAME => Self::NoDatabase { host, database },
            &SqlState::INSUFFICIENT_PRIVILEGE => Self::lacks_right(address, &reason),
            // It goes down, comes up, or has cut us off.
            &SqlState::ADMIN_SHUTDOWN | &SqlState::CRASH_SHUTDOWN | &SqlState::CANNOT_CONNECT_NOW => {
                Self::Gone { host, reason }
            }
            _ => Self::Refused { database, reason },
        }
    }

    /// The user may not do what we must.
    pub(crate) fn lacks_right(address: &Address, reason: &str) -> Self {
        let user = address.user();
        let advice = format!(
            "Have it own the schema: CREATE SCHEMA ovenward AUTHORIZATION {user}, as in deploy/postgres/roles.sql"
        );
        Self::NoRights { user: user.to_owned(), database: address.to_string(), reason: reason.to_owned(), advice }
    }

    /// An error that the server did not send.
    fn of_the_way(host: String, user: String, error: &tokio_postgres::Error) -> Self {
        let causes: Vec<&(dyn StdError + 'static)> =
            std::iter::successors(error.source(), |&error| error.source()).collect();
        let root = causes.last().map_or_else(|| error.to_string(), ToString::to_string);
        let of_io = causes.iter().find_map(|cause| cause.downcast_ref::<std::io::Error>());
        let of_tls = of_io.and_then(std::io::Error::get_ref).and_then(|error| error.downcast_ref::<rustls::Error>());
        // The library has no other way to tell its kinds apart than the words before the cause.
        match (of_tls, error.to_string().as_str()) {
            (Some(error), _) => Self::Untrusted { host, reason: tls::in_words(error) },
            (None, words) if words.contains("TLS") => Self::Untrusted { host, reason: root },
            (None, words) if words.contains("connecting") => Self::Unreachable { host, reason: root },
            (None, words) if words.contains("authentication") || words.contains("invalid configuration") => {
                Self::NotLetIn { host, user, reason: root }
            }
            _ => Self::Gone { host, reason: root },
        }
    }
}

//! What is there and what we may, found out without changing anything.

use crate::address::Address;
use crate::connection::Connection;
use crate::error::SqlError;
use crate::schema::newest;

/// What a database looks like from here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Look {
    /// The server's version, such as `15.18`.
    pub server: String,
    /// What of our tables is there.
    pub schema: SchemaState,
}

/// What of our tables is there, and what we may do about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SchemaState {
    /// Nothing: it will be made.
    ToBeMade,
    /// An older version: it will be brought to ours.
    ToBeMigrated {
        /// The version there.
        from: i32,
    },
    /// As this program writes it.
    Current {
        /// The version there.
        version: i32,
    },
}

/// Connects and looks.
///
/// # Errors
/// What is in the way: a right that is missing is told as well, and tables that are newer than the program.
pub async fn look(address: &Address) -> Result<Look, SqlError> {
    let connection = Connection::open(address).await?;
    let server = connection.ask("SHOW server_version").await?;
    let (version, known) = (connection.version().await?, newest());
    if version > known {
        return Err(SqlError::TooNew { database: address.to_string(), found: version, known });
    }
    if version < known {
        let may_make = match connection.has_schema().await? {
            true => "SELECT has_schema_privilege('ovenward', 'CREATE')",
            false => "SELECT has_database_privilege(current_database(), 'CREATE')",
        };
        if !connection.ask(may_make).await? {
            return Err(SqlError::lacks_right(address, "it may not make the tables"));
        }
        let schema = if version == 0 { SchemaState::ToBeMade } else { SchemaState::ToBeMigrated { from: version } };
        return Ok(Look { server, schema });
    }
    if !connection.ask(MAY_WRITE).await? {
        return Err(SqlError::lacks_right(address, "it may not write into the tables"));
    }
    Ok(Look { server, schema: SchemaState::Current { version } })
}

/// Whether everything that is ever written may be.
const MAY_WRITE: &str = "
    SELECT coalesce(bool_and(has_table_privilege(c.oid, needed)), false)
    FROM pg_class c, unnest(ARRAY['SELECT', 'INSERT', 'UPDATE', 'DELETE']) AS needed
    WHERE c.relnamespace = 'ovenward'::regnamespace AND c.relkind = 'r' AND c.relname <> 'migration'";

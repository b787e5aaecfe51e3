//! Whether a query can be asked for history, and how it is asked.

use tokio_postgres::Column;
use tokio_postgres::error::ErrorPosition;
use tokio_postgres::types::Type;

use crate::connection::Connection;
use crate::error::SqlError;

/// A query as it should be.
const EXAMPLE: &str = "SELECT sampled_at AS time, tag_name AS tag, reading AS value FROM samples WHERE sampled_at >= $1 AND sampled_at < $2";

/// The columns a query gives, in the words of a person who has to name one.
const COLUMNS: [&str; 4] = ["time", "tag", "value", "quality"];

/// A query that gives history.
pub(crate) struct Question {
    query: String,
    /// How a time of this query is told in text.
    time: fn(&str) -> String,
    has_quality: bool,
}

/// The query without the semicolon at its end.
pub(crate) fn trimmed(query: &str) -> Result<&str, SqlError> {
    let query = query.trim().trim_end_matches(';').trim_end();
    if query.is_empty() {
        return Err(wrong("is empty"));
    }
    for bound in ["$1", "$2"] {
        if !query.contains(bound) {
            let which = if bound == "$1" { "from $1 on" } else { "before $2" };
            return Err(wrong(format!("has no {bound}: it is asked for a chunk of time, {which}")));
        }
    }
    Ok(query)
}

impl Question {
    /// Looks at the columns that the server says the query has.
    pub(crate) fn of(query: &str, columns: &[Column], parameters: usize) -> Result<Self, SqlError> {
        if parameters != 2 {
            return Err(wrong("has more parameters than $1 and $2"));
        }
        let mut time = None;
        for column in columns {
            let (name, kind) = (column.name(), column.type_());
            if columns.iter().filter(|other| other.name() == name).count() > 1 {
                return Err(wrong(format!("gives two columns called {name}")));
            }
            match name {
                "time" => time = Some(time_in_text(kind)?),
                "tag" if !is_text(kind) => return Err(wrong_kind(name, kind, "a text", "tag::text")),
                "value" if !is_text(kind) && !is_number(kind) && *kind != Type::BOOL => {
                    return Err(wrong_kind(name, kind, "a number, a text or a boolean", "value::text"));
                }
                "quality" if !is_text(kind) && !is_number(kind) => {
                    return Err(wrong_kind(name, kind, "a text or a number", "quality::text"));
                }
                name if !COLUMNS.contains(&name) => {
                    let all = COLUMNS.join(", ");
                    return Err(wrong(format!("gives a column {name}, which means nothing here: name {all} alone")));
                }
                _ => {}
            }
        }
        let has = |name: &str| columns.iter().any(|column| column.name() == name);
        if let Some(missing) = COLUMNS[..3].iter().find(|name| !has(name)) {
            let found: Vec<&str> = columns.iter().map(Column::name).collect();
            return Err(wrong(format!("gives no column {missing}, but {}", found.join(", "))));
        }
        let time = time.ok_or_else(|| wrong("gives no column time"))?;
        Ok(Self { query: query.to_owned(), time, has_quality: has("quality") })
    }

    /// Asks for a chunk, everything in text: the server knows best how to write its own types.
    pub(crate) fn chunk(&self) -> String {
        let time = (self.time)("\"time\"");
        let quality = if self.has_quality { "quality::text" } else { "NULL::text" };
        // The query may end in a comment: the bracket stands on a line of its own.
        format!("SELECT {time}, tag::text, value::text, {quality} FROM (\n{}\n) AS history", self.query)
    }

    /// Asks for the oldest time.
    pub(crate) fn oldest(&self) -> String {
        format!("SELECT {} FROM (\n{}\n) AS history", (self.time)("min(\"time\")"), self.query)
    }
}

/// How a time of this type is told in text.
fn time_in_text(kind: &Type) -> Result<fn(&str) -> String, SqlError> {
    if *kind == Type::TIMESTAMPTZ {
        return Ok(|time| format!("to_char({time}, 'YYYY-MM-DD\"T\"HH24:MI:SS.US\"Z\"')"));
    }
    if is_text(kind) || is_number(kind) {
        return Ok(|time| format!("({time})::text"));
    }
    if *kind == Type::TIMESTAMP {
        let reason = "gives a time without a time zone: nobody knows which moment it means";
        let advice = "the zone of the clock that wrote it: sampled_at AT TIME ZONE 'Europe/London' AS time, and the same before >= $1 and < $2";
        return Err(SqlError::Query { reason: reason.into(), advice: advice.into() });
    }
    Err(wrong_kind("time", kind, "a timestamp with time zone, or a count of seconds since 1970", "time::timestamptz"))
}

fn is_text(kind: &Type) -> bool {
    [Type::TEXT, Type::VARCHAR, Type::BPCHAR, Type::NAME].contains(kind)
}

fn is_number(kind: &Type) -> bool {
    [Type::INT2, Type::INT4, Type::INT8, Type::FLOAT4, Type::FLOAT8, Type::NUMERIC].contains(kind)
}

fn wrong(reason: impl Into<String>) -> SqlError {
    SqlError::Query { reason: reason.into(), advice: EXAMPLE.into() }
}

fn wrong_kind(name: &str, kind: &Type, wanted: &str, cast: &str) -> SqlError {
    let reason = format!("gives {name} as {kind}, and it must be {wanted}");
    SqlError::Query { reason, advice: format!("{cast} AS {name}, or what makes {wanted} of it") }
}

/// What the server said of the query, with the place it means.
pub(crate) fn refused(connection: &Connection, query: &str, error: &tokio_postgres::Error) -> SqlError {
    let Some(said) = error.as_db_error() else { return connection.error(error) };
    let from_there = match said.position() {
        Some(ErrorPosition::Original(at)) => query.chars().skip((*at as usize).saturating_sub(1)).take(40).collect(),
        _ => String::new(),
    };
    let place = if from_there.is_empty() { String::new() } else { format!(", at {from_there:?}") };
    let mut advice = EXAMPLE.to_owned();
    if said.message().contains("timestamp with time zone") {
        advice += "\n    $1 and $2 are timestamps with time zone; where time counts seconds: sampled_s >= extract(epoch FROM $1)";
    }
    SqlError::Query { reason: format!("was refused: {}{place}", said.message()), advice }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_query_needs_both_bounds_and_loses_its_semicolon() {
        assert_eq!(trimmed(" SELECT $1, $2 ;\n").unwrap(), "SELECT $1, $2");
        assert!(
            trimmed(" ; ").unwrap_err().to_string().starts_with("the query is empty\n    write: SELECT sampled_at")
        );
        assert!(trimmed("SELECT $2").unwrap_err().to_string().contains("has no $1"));
        assert!(trimmed("SELECT $1").unwrap_err().to_string().contains("has no $2"));
    }
}

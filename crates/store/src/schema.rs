//! The tables of `hot.db`, and the steps from one version of them to the next.

use rusqlite::{Connection, TransactionBehavior};

use crate::error::Cause;

/// One step for each version; `PRAGMA user_version` counts the steps taken. A released step is
/// never edited: a later version appends one.
const STEPS: &[&str] = &[
    "
    CREATE TABLE meta (
        key   TEXT PRIMARY KEY,
        value TEXT NOT NULL
    ) STRICT, WITHOUT ROWID;

    CREATE TABLE tag (
        id   INTEGER PRIMARY KEY,
        name TEXT NOT NULL UNIQUE,
        line TEXT NOT NULL
    ) STRICT;

    CREATE TABLE reading (
        tag     INTEGER NOT NULL,
        time    INTEGER NOT NULL,
        number  REAL,
        text    TEXT,
        quality INTEGER NOT NULL,
        PRIMARY KEY (tag, time),
        CHECK ((number IS NULL) <> (text IS NULL))
    ) STRICT, WITHOUT ROWID;

    CREATE TABLE segment (
        id    INTEGER PRIMARY KEY AUTOINCREMENT,
        path  TEXT NOT NULL UNIQUE,
        line  TEXT NOT NULL,
        day   INTEGER NOT NULL,
        first INTEGER NOT NULL,
        last  INTEGER NOT NULL,
        rows  INTEGER NOT NULL,
        bytes INTEGER NOT NULL
    ) STRICT;
    CREATE INDEX segment_of_day ON segment (day, line);

    CREATE TABLE segment_tag (
        tag       INTEGER NOT NULL,
        last      INTEGER NOT NULL,
        segment   INTEGER NOT NULL,
        first     INTEGER NOT NULL,
        first_row INTEGER NOT NULL,
        rows      INTEGER NOT NULL,
        PRIMARY KEY (tag, last, segment)
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX segment_tag_of_segment ON segment_tag (segment);

    CREATE TABLE alert (
        id     TEXT PRIMARY KEY,
        line   TEXT NOT NULL,
        kind   TEXT NOT NULL,
        state  TEXT NOT NULL,
        began  INTEGER NOT NULL,
        raised INTEGER NOT NULL,
        ended  INTEGER,
        json   TEXT NOT NULL
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX alert_by_time ON alert (raised);
    CREATE INDEX alert_standing ON alert (raised) WHERE ended IS NULL;

    CREATE TABLE alert_change (
        id    INTEGER PRIMARY KEY,
        alert TEXT NOT NULL,
        time  INTEGER NOT NULL,
        who   TEXT NOT NULL,
        what  TEXT NOT NULL
    ) STRICT;
    CREATE INDEX alert_change_of_alert ON alert_change (alert);

    CREATE TABLE outbox (
        id      INTEGER PRIMARY KEY AUTOINCREMENT,
        topic   TEXT NOT NULL,
        payload BLOB NOT NULL,
        retain  INTEGER NOT NULL
    ) STRICT;

    CREATE TABLE quarantine (
        id       INTEGER PRIMARY KEY AUTOINCREMENT,
        received INTEGER NOT NULL,
        topic    TEXT NOT NULL,
        payload  BLOB NOT NULL,
        reason   TEXT NOT NULL,
        detail   TEXT NOT NULL
    ) STRICT;

    CREATE TABLE quarantine_count (
        reason TEXT PRIMARY KEY,
        count  INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID;
",
    "
    ALTER TABLE alert_change ADD COLUMN state TEXT NOT NULL DEFAULT '';

    CREATE TABLE suppression (
        id       INTEGER PRIMARY KEY,
        line     TEXT NOT NULL,
        kind     TEXT NOT NULL,
        since    INTEGER NOT NULL,
        until    INTEGER,
        reason   TEXT NOT NULL,
        who      TEXT NOT NULL,
        ended    INTEGER,
        ended_by TEXT,
        CHECK ((ended IS NULL) = (ended_by IS NULL))
    ) STRICT;
    CREATE UNIQUE INDEX suppression_in_force ON suppression (line, kind) WHERE ended IS NULL;
",
    "
    ALTER TABLE segment ADD COLUMN checksum INTEGER;

    CREATE TABLE gap (
        id    INTEGER PRIMARY KEY,
        began INTEGER NOT NULL,
        ended INTEGER NOT NULL,
        cause TEXT NOT NULL,
        lost  INTEGER
    ) STRICT;
    CREATE INDEX gap_by_time ON gap (ended);
",
    "
    CREATE TABLE audit (
        id   INTEGER PRIMARY KEY,
        time INTEGER NOT NULL,
        who  TEXT NOT NULL,
        what TEXT NOT NULL
    ) STRICT;
",
    "
    CREATE TABLE rate_change (
        id       TEXT PRIMARY KEY,
        line     TEXT NOT NULL,
        state    TEXT NOT NULL,
        proposed INTEGER NOT NULL,
        json     TEXT NOT NULL
    ) STRICT, WITHOUT ROWID;
",
    "
    CREATE TABLE notice_receiver (
        name TEXT PRIMARY KEY,
        seen INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID;

    CREATE TABLE notice (
        receiver     TEXT NOT NULL,
        alert        TEXT NOT NULL,
        told         TEXT,
        id           TEXT,
        event        TEXT,
        due          INTEGER,
        attempts     INTEGER,
        next_attempt INTEGER,
        PRIMARY KEY (receiver, alert),
        CHECK (told IS NOT NULL OR id IS NOT NULL),
        CHECK ((id IS NULL) = (event IS NULL) AND (id IS NULL) = (due IS NULL)
               AND (id IS NULL) = (attempts IS NULL) AND (id IS NULL) = (next_attempt IS NULL))
    ) STRICT, WITHOUT ROWID;
",
];

/// Brings a database, new or old, to the present version.
pub(crate) fn migrate(connection: &mut Connection) -> Result<(), Cause> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let version: usize = transaction.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    if version > STEPS.len() {
        return Err(Cause::Wrong(format!(
            "the database has version {version} and this program knows {}: run the newer program that wrote it",
            STEPS.len()
        )));
    }
    for step in &STEPS[version..] {
        transaction.execute_batch(step)?;
    }
    transaction.pragma_update(None, "user_version", STEPS.len())?;
    Ok(transaction.commit()?)
}

//! Which segments there are and what they hold: the tables `segment` and `segment_tag`.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::ops::Range;

use rusqlite::{Connection, OptionalExtension, Row as SqlRow, Rows, params};

use super::{Extent, Part, day_of, day_range};
use crate::disk::Content;
use crate::error::Cause;
use crate::tags::TagId;

/// A segment as the catalogue lists it.
#[derive(Debug, Clone)]
pub(crate) struct Listed {
    pub(crate) id: i64,
    /// Relative to the store's folder.
    pub(crate) path: String,
    pub(crate) rows: i64,
    /// Of its file.
    pub(crate) bytes: u64,
    pub(crate) day: i64,
}

/// A segment to be listed.
pub(crate) struct NewSegment<'a> {
    /// Above [`newest`].
    pub(crate) id: i64,
    pub(crate) path: &'a str,
    pub(crate) line: &'a str,
    pub(crate) day: i64,
    pub(crate) content: Content,
    pub(crate) extents: &'a [Extent],
}

/// The highest id given so far; ids are never used twice.
pub(crate) fn newest(connection: &Connection) -> Result<i64, Cause> {
    let mut select = connection.prepare_cached("SELECT seq FROM sqlite_sequence WHERE name = 'segment'")?;
    Ok(select.query_row([], |row| row.get(0)).optional()?.unwrap_or(0))
}

/// Makes the next segment's id higher than this.
pub(crate) fn use_no_id_up_to(connection: &Connection, id: i64) -> Result<(), Cause> {
    let raised = connection.execute("UPDATE sqlite_sequence SET seq = max(seq, ?1) WHERE name = 'segment'", [id])?;
    if raised == 0 {
        connection.execute("INSERT INTO sqlite_sequence (name, seq) VALUES ('segment', ?1)", [id])?;
    }
    Ok(())
}

/// Tells whoever remembers the catalogue that segments have gone without one taking their place.
pub(crate) fn mark_changed(connection: &Connection) -> Result<(), Cause> {
    use_no_id_up_to(connection, newest(connection)? + 1)
}

/// What has to be read for these tags and times, `[start, end)`.
pub(crate) fn overlapping(connection: &Connection, tags: &[TagId], times: &Range<i64>) -> Result<Vec<Part>, Cause> {
    // A segment stays within one day: whatever begins before the end ends before that day does.
    let latest = day_range(day_of(times.end.saturating_sub(1))).end;
    let mut select = connection.prepare_cached(
        "SELECT segment, path, tag, segment_tag.first, segment_tag.last, first_row, segment_tag.rows
         FROM segment_tag JOIN segment ON segment.id = segment
         WHERE tag = ?1 AND segment_tag.last >= ?2 AND segment_tag.last < ?3 AND segment_tag.first < ?4",
    )?;
    let mut parts = BTreeMap::new();
    for &tag in tags {
        gather(&mut parts, select.query(params![tag, times.start, latest, times.end])?)?;
    }
    Ok(in_order(parts))
}

/// Every segment with all it holds.
fn parts(connection: &Connection) -> Result<Vec<Part>, Cause> {
    let mut select = connection.prepare_cached(
        "SELECT segment, path, tag, segment_tag.first, segment_tag.last, first_row, segment_tag.rows
         FROM segment_tag JOIN segment ON segment.id = segment",
    )?;
    let mut parts = BTreeMap::new();
    gather(&mut parts, select.query([])?)?;
    Ok(in_order(parts))
}

/// Every segment with all it holds, its size and its checksum, which those of earlier versions do not have.
pub(crate) fn parts_with_content(connection: &Connection) -> Result<Vec<(Part, u64, Option<i64>)>, Cause> {
    let mut select = connection.prepare_cached("SELECT bytes, checksum FROM segment WHERE id = ?1")?;
    let with_content = |part: Part| {
        let (bytes, checksum) = select.query_row([part.segment], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok((part, bytes, checksum))
    };
    parts(connection)?.into_iter().map(with_content).collect()
}

fn gather(parts: &mut BTreeMap<i64, Part>, mut extents: Rows) -> Result<(), Cause> {
    while let Some(row) = extents.next()? {
        let segment = row.get(0)?;
        let part = match parts.entry(segment) {
            Entry::Occupied(entry) => entry.into_mut(),
            Entry::Vacant(entry) => {
                entry.insert(Part { segment: Some(segment), path: row.get(1)?, extents: Vec::new() })
            }
        };
        part.extents.push(Extent {
            tag: row.get(2)?,
            first: row.get(3)?,
            last: row.get(4)?,
            first_row: row.get(5)?,
            rows: row.get(6)?,
        });
    }
    Ok(())
}

fn in_order(parts: BTreeMap<i64, Part>) -> Vec<Part> {
    let mut parts: Vec<Part> = parts.into_values().collect();
    for part in &mut parts {
        part.extents.sort_unstable_by_key(|extent| extent.first_row);
    }
    parts
}

/// Lists a segment.
pub(crate) fn add(connection: &Connection, new: &NewSegment) -> Result<(), Cause> {
    let (Some(first), Some(last)) =
        (new.extents.iter().map(|extent| extent.first).min(), new.extents.iter().map(|extent| extent.last).max())
    else {
        return Err(Cause::Wrong(format!("the segment {} would be empty", new.path)));
    };
    let rows: usize = new.extents.iter().map(|extent| extent.rows).sum();
    connection.execute(
        "INSERT INTO segment (id, path, line, day, first, last, rows, bytes, checksum)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        params![new.id, new.path, new.line, new.day, first, last, rows, new.content.bytes, new.content.checksum],
    )?;
    let mut insert = connection.prepare_cached(
        "INSERT INTO segment_tag (tag, last, segment, first, first_row, rows) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    )?;
    for extent in new.extents {
        insert.execute(params![extent.tag, extent.last, new.id, extent.first, extent.first_row, extent.rows])?;
    }
    Ok(())
}

/// Strikes a segment off; its file is the caller's.
pub(crate) fn remove(connection: &Connection, id: i64) -> Result<(), Cause> {
    connection.execute("DELETE FROM segment_tag WHERE segment = ?1", [id])?;
    connection.execute("DELETE FROM segment WHERE id = ?1", [id])?;
    Ok(())
}

/// Every segment.
pub(crate) fn all(connection: &Connection) -> Result<Vec<Listed>, Cause> {
    let mut select = connection.prepare_cached("SELECT id, path, rows, bytes, day FROM segment ORDER BY id")?;
    Ok(select.query_map([], listed)?.collect::<Result<_, _>>()?)
}

/// The segments of one line and day.
pub(crate) fn of_day(connection: &Connection, line: &str, day: i64) -> Result<Vec<Listed>, Cause> {
    let mut select = connection
        .prepare_cached("SELECT id, path, rows, bytes, day FROM segment WHERE day = ?1 AND line = ?2 ORDER BY id")?;
    Ok(select.query_map(params![day, line], listed)?.collect::<Result<_, _>>()?)
}

/// The segments of days before this one.
pub(crate) fn before_day(connection: &Connection, day: i64) -> Result<Vec<Listed>, Cause> {
    let mut select =
        connection.prepare_cached("SELECT id, path, rows, bytes, day FROM segment WHERE day < ?1 ORDER BY day, id")?;
    Ok(select.query_map([day], listed)?.collect::<Result<_, _>>()?)
}

/// Days before this one that have more than one segment of a line.
pub(crate) fn divided_days(connection: &Connection, before: i64) -> Result<Vec<(String, i64)>, Cause> {
    let mut select = connection.prepare_cached(
        "SELECT line, day FROM segment WHERE day < ?1 GROUP BY day, line HAVING count(*) > 1 ORDER BY day, line",
    )?;
    Ok(select.query_map([before], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?)
}

fn listed(row: &SqlRow) -> rusqlite::Result<Listed> {
    Ok(Listed { id: row.get(0)?, path: row.get(1)?, rows: row.get(2)?, bytes: row.get(3)?, day: row.get(4)? })
}

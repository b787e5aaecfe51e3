//! From many segments of a day to one.

use std::collections::BTreeSet;

use reading::Timestamp;
use rusqlite::{Transaction, params};

use crate::Store;
use crate::error::{At, Cause, StoreError};
use crate::segment::catalogue::{self, Listed};
use crate::segment::publish::Place;
use crate::segment::{Row, day_of, day_range};
use crate::tags::TagId;

/// A day of more segments than this is joined however small they are.
const MANY: usize = 8;

/// Segments beside the largest are worth rewriting it for when they hold this share of its rows:
/// readings that trickle in late then cost no more than some twenty times their own size.
const WORTHWHILE: i64 = 20;

impl Store {
    /// Joins the segments of days that were over by `until`. Returns how many days.
    pub(crate) fn join_days(&self, until: Timestamp) -> Result<usize, StoreError> {
        let days = self
            .inner
            .database
            .read("find segments to join", |snapshot| catalogue::divided_days(snapshot, day_of(until.0)))?;
        let mut joined = 0;
        for (line, day) in days {
            let segments = self
                .inner
                .database
                .read("find segments to join", |snapshot| catalogue::of_day(snapshot, &line, day))?;
            if is_worthwhile(&segments) {
                self.join(&line, day, &segments)?;
                joined += 1;
            }
        }
        Ok(joined)
    }

    fn join(&self, line: &str, day: i64, segments: &[Listed]) -> Result<(), StoreError> {
        let ids: BTreeSet<i64> = segments.iter().map(|segment| segment.id).collect();
        let joins: Vec<i64> = ids.iter().copied().collect();
        let place = Place { line, day, joins: &joins };
        self.publish(
            &place,
            |snapshot, writer| {
                for (tag, name) in tags_of(snapshot, &place)? {
                    writer.write_tag(tag, &name, &self.rows_of(snapshot, tag, place.day, &ids)?)?;
                }
                Ok(())
            },
            |transaction, _| ids.iter().try_for_each(|id| catalogue::remove(transaction, *id)),
        )?;
        // Whoever has one of them open goes on reading it; whoever is about to open it looks the
        // segments up again.
        let remove = || {
            for segment in segments {
                let path = self.inner.folder.join(&segment.path);
                self.inner.disk.remove(&path).at(&path)?;
            }
            Ok(())
        };
        remove().map_err(|cause: Cause| cause.during("remove segments that were joined", &self.inner.folder))
    }

    /// The rows of a tag in these segments, in order of time.
    fn rows_of(&self, snapshot: &Transaction, tag: TagId, day: i64, ids: &BTreeSet<i64>) -> Result<Vec<Row>, Cause> {
        let mut rows = Vec::new();
        for part in catalogue::overlapping(snapshot, &[tag], &day_range(day))? {
            if part.segment.is_some_and(|id| ids.contains(&id)) {
                self.inner.segments.read(&part, &day_range(day), |_, row| rows.push(row))?;
            }
        }
        rows.sort_by_key(|row| row.time);
        Ok(rows)
    }
}

fn is_worthwhile(segments: &[Listed]) -> bool {
    let largest = segments.iter().map(|segment| segment.rows).max().unwrap_or(0);
    let rest = segments.iter().map(|segment| segment.rows).sum::<i64>() - largest;
    segments.len() > MANY || rest.saturating_mul(WORTHWHILE) >= largest
}

/// The tags in a day's segments of a line, in order of the names.
fn tags_of(snapshot: &Transaction, place: &Place) -> Result<Vec<(TagId, String)>, Cause> {
    let mut select = snapshot.prepare_cached(
        "SELECT DISTINCT tag.id, tag.name FROM segment
         JOIN segment_tag ON segment_tag.segment = segment.id JOIN tag ON tag.id = segment_tag.tag
         WHERE day = ?1 AND segment.line = ?2 ORDER BY tag.name",
    )?;
    let tags = select.query_map(params![place.day, place.line], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(tags.collect::<Result<_, _>>()?)
}

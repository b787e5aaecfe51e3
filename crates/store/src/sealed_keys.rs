//! Whether a reading has been sealed already: asked for each reading that comes in, so it must
//! cost next to nothing for those of the present, and little for history loaded a second time.

use std::collections::HashMap;

use rusqlite::{OptionalExtension, Transaction};

use crate::error::Cause;
use crate::segment::{Segments, catalogue, day_of, day_range};
use crate::tags::TagId;

/// Times held at once, 8 bytes each; history comes roughly in order of time, so a few days of the
/// plant are enough.
const HELD_TIMES: usize = 4_000_000;

/// Keys of sealed readings, as far as they have been asked for; follows the catalogue.
#[derive(Default)]
pub(crate) struct SealedKeys {
    /// The catalogue this was taken from: each change of it adds a segment with a higher id.
    newest_segment: i64,
    /// The last sealed time of a tag; `None` if nothing of it is sealed.
    last: HashMap<TagId, Option<i64>>,
    /// The sealed times of a tag on a day, in order.
    times: HashMap<(TagId, i64), Vec<i64>>,
    held: usize,
}

impl SealedKeys {
    /// Forgets what it knows if the catalogue has changed, in this process or another.
    pub(crate) fn refresh(&mut self, transaction: &Transaction) -> Result<(), Cause> {
        let newest = catalogue::newest(transaction)?;
        if newest != self.newest_segment {
            *self = Self { newest_segment: newest, ..Self::default() };
        }
        Ok(())
    }

    /// Whether the reading of this tag at this time lies in a segment.
    pub(crate) fn contains(
        &mut self,
        transaction: &Transaction,
        segments: &Segments,
        tag: TagId,
        time: i64,
    ) -> Result<bool, Cause> {
        let last = match self.last.get(&tag) {
            Some(last) => *last,
            None => {
                let last = last_sealed(transaction, tag)?;
                self.last.insert(tag, last);
                last
            }
        };
        if last.is_none_or(|last| time > last) {
            return Ok(false);
        }
        let key = (tag, day_of(time));
        if !self.times.contains_key(&key) {
            self.hold(key, sealed_times(transaction, segments, tag, key.1)?);
        }
        Ok(self.times.get(&key).is_some_and(|times| times.binary_search(&time).is_ok()))
    }

    fn hold(&mut self, key: (TagId, i64), times: Vec<i64>) {
        if self.held + times.len() > HELD_TIMES {
            self.times.clear();
            self.held = 0;
        }
        self.held += times.len();
        self.times.insert(key, times);
    }
}

fn last_sealed(transaction: &Transaction, tag: TagId) -> Result<Option<i64>, Cause> {
    let mut select =
        transaction.prepare_cached("SELECT last FROM segment_tag WHERE tag = ?1 ORDER BY last DESC LIMIT 1")?;
    Ok(select.query_row([tag], |row| row.get(0)).optional()?)
}

fn sealed_times(transaction: &Transaction, segments: &Segments, tag: TagId, day: i64) -> Result<Vec<i64>, Cause> {
    let mut times = Vec::new();
    for part in catalogue::overlapping(transaction, &[tag], &day_range(day))? {
        segments.read(&part, &day_range(day), |_, row| times.push(row.time))?;
    }
    times.sort_unstable();
    Ok(times)
}

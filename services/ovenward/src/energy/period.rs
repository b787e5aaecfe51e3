//! By what records are grouped.

use std::collections::BTreeMap;
use std::sync::Arc;

use balance::energy::Tally;
use chrono::Datelike;
use clap::ValueEnum;
use reading::Timestamp;

use super::shift::ShiftTally;

/// By what records are grouped. A shift counts to the day on which it began.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum By {
    /// A record for each shift.
    Shift,
    /// For each day.
    Day,
    /// For each month.
    Month,
    /// For each product over the whole period.
    Product,
}

impl By {
    /// Its name in tables.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Shift => "shift",
            Self::Day => "day",
            Self::Month => "month",
            Self::Product => "product",
        }
    }
}

/// Shifts, or their parts, that give one record.
pub(crate) struct Group {
    pub(crate) period: String,
    pub(crate) starts: Timestamp,
    pub(crate) ends: Timestamp,
    pub(crate) tally: Tally,
    /// The shifts that it has whole, by their places; none for a product.
    pub(crate) shifts: Vec<usize>,
}

/// The groups of one line's shifts, which are in order of time.
pub(crate) fn groups(shifts: &[ShiftTally], by: By) -> Vec<Group> {
    match by {
        By::Product => products(shifts),
        _ => times(shifts, by),
    }
}

/// All of them together; none without any.
pub(crate) fn whole(shifts: &[ShiftTally]) -> Option<Group> {
    let (first, last) = (&shifts.first()?.shift, &shifts.last()?.shift);
    let mut tally = Tally::default();
    shifts.iter().for_each(|shift| tally.merge(&shift.whole()));
    let period = format!("{} {} to {} {}", first.date, first.name, last.date, last.name);
    Some(Group { period, starts: first.starts, ends: last.ends, tally, shifts: Vec::new() })
}

fn times(shifts: &[ShiftTally], by: By) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (place, found) in shifts.iter().enumerate() {
        let (date, shift) = (found.shift.date, &found.shift);
        let period = match by {
            By::Month => format!("{}-{:02}", date.year(), date.month()),
            By::Day => date.to_string(),
            By::Shift | By::Product => format!("{date} {}", shift.name),
        };
        match groups.last_mut() {
            Some(last) if last.period == period => {
                last.ends = shift.ends;
                last.tally.merge(&found.whole());
                last.shifts.push(place);
            }
            _ => groups.push(Group {
                period,
                starts: shift.starts,
                ends: shift.ends,
                tally: found.whole(),
                shifts: vec![place],
            }),
        }
    }
    groups
}

fn products(shifts: &[ShiftTally]) -> Vec<Group> {
    let (Some(first), Some(last)) = (shifts.first(), shifts.last()) else { return Vec::new() };
    let mut sums: BTreeMap<Option<Arc<str>>, Tally> = BTreeMap::new();
    for (product, tally) in shifts.iter().flat_map(|shift| &shift.products) {
        sums.entry(product.clone()).or_default().merge(tally);
    }
    let group = |(product, tally): (Option<Arc<str>>, Tally)| Group {
        period: product.as_deref().unwrap_or("no product").to_owned(),
        starts: first.shift.starts,
        ends: last.shift.ends,
        tally,
        shifts: Vec::new(),
    };
    sums.into_iter().map(group).collect()
}

//! Who is told of what, and from when on.

use std::sync::Arc;

use alert::{Alert, Priority};
use chrono::NaiveTime;
use reading::{ShiftCalendar, Span, Timestamp};

/// What a receiver is told of, and when. The default is everything, at once.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// Ids of the lines it is told of; all if empty.
    pub lines: Vec<Arc<str>>,
    /// It is told of alerts of this priority and of higher ones.
    pub lowest_priority: Priority,
    /// The shifts in which it is on duty; every one if empty. What happens in another shift waits for the next one of
    /// its own, and is told then if nobody has answered meanwhile.
    pub shifts: Vec<Arc<str>>,
    /// It is told that an alert calls only when nobody has answered for so long: zero, or the step of an escalation.
    pub after: Span,
    /// When it is not to be disturbed by anything less than a high alert.
    pub quiet: Option<Quiet>,
}

/// A time in which only high alerts are told.
#[derive(Debug, Clone, PartialEq)]
pub enum Quiet {
    /// Every day from one time on the clock on the wall to another, also over midnight; the two differ.
    Hours {
        /// Its first moment.
        from: NaiveTime,
        /// The first moment after it.
        to: NaiveTime,
    },
    /// The whole of these shifts.
    Shifts(Vec<Arc<str>>),
}

/// More changes of shift than there are in a week: what is held for longer is held for ever.
const LONGEST_SEARCH: usize = 100;

impl Default for Rule {
    fn default() -> Self {
        Self { lines: Vec::new(), lowest_priority: Priority::Medium, shifts: Vec::new(), after: Span(0), quiet: None }
    }
}

impl Rule {
    /// Whether the receiver is to hear of such an alert at all.
    #[must_use]
    pub fn concerns(&self, alert: &Alert) -> bool {
        self.hears_of(&alert.line) && (alert.priority == Priority::High || self.lowest_priority == Priority::Medium)
    }

    /// Whether the receiver is told of this line.
    #[must_use]
    pub fn hears_of(&self, line: &str) -> bool {
        self.lines.is_empty() || self.lines.iter().any(|other| &**other == line)
    }

    /// Whether a high alert that calls in this shift is told at once.
    #[must_use]
    pub fn tells_at_once_in(&self, shift: &str) -> bool {
        self.after == Span(0) && (self.shifts.is_empty() || self.shifts.iter().any(|other| &**other == shift))
    }

    /// The first moment, `from` or later, at which the receiver may be told. A rule that would hold something for ever
    /// holds nothing: it is better to disturb somebody than to tell nobody.
    #[must_use]
    pub fn due(&self, priority: Priority, from: Timestamp, calendar: &ShiftCalendar) -> Timestamp {
        let mut time = from;
        for _ in 0..LONGEST_SEARCH {
            match self.held_until(priority, time, calendar) {
                Some(later) => time = later,
                None => return time,
            }
        }
        from
    }

    /// When to look again, if the receiver is not to be told at this moment.
    fn held_until(&self, priority: Priority, time: Timestamp, calendar: &ShiftCalendar) -> Option<Timestamp> {
        let shift = calendar.at(time)?;
        if !self.shifts.is_empty() && !self.shifts.contains(&shift.name) {
            return Some(shift.ends);
        }
        if priority == Priority::High {
            return None;
        }
        match self.quiet.as_ref()? {
            Quiet::Shifts(names) => names.contains(&shift.name).then_some(shift.ends),
            Quiet::Hours { from, to } => {
                // Within a quiet time its end comes before its next beginning.
                let ends = calendar.next(*to, time);
                (ends < calendar.next(*from, time)).then_some(ends)
            }
        }
    }
}

//! Shifts are wall-clock time; everything else is UTC. This is the one place where the two meet.

use std::sync::Arc;

use chrono::{DateTime, Datelike, Days, NaiveDate, NaiveTime, TimeDelta, TimeZone, Utc, Weekday};
use chrono_tz::Tz;

use crate::time::Timestamp;

/// A shift as the config states it: it ends where the next one begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShiftRule {
    /// What people call it.
    pub name: Arc<str>,
    /// When it begins, in the site's local time.
    pub starts: NaiveTime,
    /// The weekdays on which it begins; empty for every day.
    pub days: Vec<Weekday>,
}

/// One shift of one day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShiftInstance {
    /// The local date on which it began.
    pub date: NaiveDate,
    /// Which shift.
    pub name: Arc<str>,
    /// Its first moment.
    pub starts: Timestamp,
    /// The first moment of the next shift.
    pub ends: Timestamp,
}

/// When shifts begin at this site.
#[derive(Debug, Clone)]
pub struct ShiftCalendar {
    zone: Tz,
    rules: Vec<ShiftRule>,
}

impl ShiftCalendar {
    /// A calendar of these shifts in this time zone. Without any rule the local day is the shift.
    #[must_use]
    pub fn new(zone: Tz, mut rules: Vec<ShiftRule>) -> Self {
        if rules.is_empty() {
            rules.push(ShiftRule { name: "day".into(), starts: NaiveTime::MIN, days: Vec::new() });
        }
        rules.sort_by_key(|rule| rule.starts);
        Self { zone, rules }
    }

    /// The site's time zone.
    #[must_use]
    pub fn time_zone(&self) -> Tz {
        self.zone
    }

    /// The names of the shifts in the order of the day.
    pub fn names(&self) -> impl Iterator<Item = &Arc<str>> {
        self.rules.iter().map(|rule| &rule.name)
    }

    /// The shift in which a moment lies; `None` beyond the years chrono knows.
    #[must_use]
    pub fn at(&self, time: Timestamp) -> Option<ShiftInstance> {
        let date = time.to_utc()?.with_timezone(&self.zone).date_naive();
        // A rule may begin on one weekday only, so the last start can lie eight days back.
        let starts = self.starts(date.checked_sub_days(Days::new(8))?, date.checked_add_days(Days::new(8))?);
        let next = starts.partition_point(|start| start.0 <= time);
        let (begin, end) = (starts.get(next.checked_sub(1)?)?, starts.get(next)?);
        Some(ShiftInstance { date: begin.1, name: begin.2.clone(), starts: begin.0, ends: end.0 })
    }

    /// The shifts that begin on a local date, in order.
    #[must_use]
    pub fn on(&self, date: NaiveDate) -> Vec<ShiftInstance> {
        self.starts(date, date).into_iter().filter_map(|(time, ..)| self.at(time)).collect()
    }

    /// Whether a shift begins in `(from, to]`.
    #[must_use]
    pub fn changes_between(&self, from: Timestamp, to: Timestamp) -> bool {
        self.at(from).is_some_and(|shift| shift.ends <= to)
    }

    /// Every shift that has a part in `[from, to)`, in order.
    #[must_use]
    pub fn between(&self, from: Timestamp, to: Timestamp) -> Vec<ShiftInstance> {
        let mut shifts = Vec::new();
        let mut time = from;
        while time < to {
            let Some(shift) = self.at(time) else { break };
            time = shift.ends;
            shifts.push(shift);
        }
        shifts
    }

    /// A moment as the clock on the wall shows it, `HH:MM`.
    #[must_use]
    pub fn wall_clock(&self, time: Timestamp) -> String {
        self.shown(time, "%H:%M").unwrap_or_default()
    }

    /// The same to the second, `HH:MM:SS`; in UTC with its date beyond the years chrono knows.
    #[must_use]
    pub fn wall_clock_seconds(&self, time: Timestamp) -> String {
        self.shown(time, "%H:%M:%S").unwrap_or_else(|| time.to_string())
    }

    /// The local date of a moment, `YYYY-MM-DD`; in UTC with its time beyond the years chrono knows.
    #[must_use]
    pub fn date(&self, time: Timestamp) -> String {
        self.shown(time, "%Y-%m-%d").unwrap_or_else(|| time.to_string())
    }

    /// Local date and wall clock of a moment, `YYYY-MM-DD HH:MM`; in UTC beyond the years chrono knows.
    #[must_use]
    pub fn date_and_time(&self, time: Timestamp) -> String {
        self.shown(time, "%Y-%m-%d %H:%M").unwrap_or_else(|| time.to_string())
    }

    fn shown(&self, time: Timestamp, format: &str) -> Option<String> {
        Some(time.to_utc()?.with_timezone(&self.zone).format(format).to_string())
    }

    /// A moment in RFC 3339 with the site's offset from UTC.
    #[must_use]
    pub fn local(&self, time: Timestamp) -> String {
        time.to_utc().map_or_else(|| time.to_string(), |utc| utc.with_timezone(&self.zone).to_rfc3339())
    }

    /// The first moment of a local date.
    #[must_use]
    pub fn midnight(&self, date: NaiveDate) -> Timestamp {
        self.instant(date, NaiveTime::MIN)
    }

    /// The next moment after this one at which the clock on the wall shows a time.
    #[must_use]
    pub fn next(&self, shown: NaiveTime, after: Timestamp) -> Timestamp {
        let today = after.to_utc().unwrap_or_default().with_timezone(&self.zone).date_naive();
        let days = today.iter_days().take(3).map(|date| self.instant(date, shown));
        days.into_iter().find(|moment| *moment > after).unwrap_or(after)
    }

    fn starts(&self, first: NaiveDate, last: NaiveDate) -> Vec<(Timestamp, NaiveDate, Arc<str>)> {
        let mut starts = Vec::new();
        for date in first.iter_days().take_while(|date| *date <= last) {
            for rule in &self.rules {
                if rule.days.is_empty() || rule.days.contains(&date.weekday()) {
                    starts.push((self.instant(date, rule.starts), date, rule.name.clone()));
                }
            }
        }
        starts
    }

    /// When the clock on the wall shows this time: the first of two when clocks go back, and the
    /// moment after the jump when they go forward over it.
    fn instant(&self, date: NaiveDate, time: NaiveTime) -> Timestamp {
        let local = date.and_time(time);
        let found: Option<DateTime<Utc>> = (0..=24 * 4)
            .map(|quarters| local + TimeDelta::minutes(15 * quarters))
            .find_map(|candidate| self.zone.from_local_datetime(&candidate).earliest())
            .map(|instant| instant.with_timezone(&Utc));
        // No zone skips a whole day of wall-clock time; UTC keeps the function total.
        found.unwrap_or_else(|| local.and_utc()).into()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn calendar(zone: Tz) -> ShiftCalendar {
        let rule = |name: &str, hour| ShiftRule {
            name: name.into(),
            starts: NaiveTime::from_hms_opt(hour, 0, 0).unwrap(),
            days: Vec::new(),
        };
        ShiftCalendar::new(zone, vec![rule("night", 22), rule("early", 6), rule("late", 14)])
    }

    fn at(text: &str) -> Timestamp {
        Timestamp::parse(text).unwrap()
    }

    #[test]
    fn the_night_shift_belongs_to_the_day_on_which_it_began() {
        let shift = calendar(chrono_tz::Europe::London).at(at("2026-11-03T03:00:00Z")).unwrap();
        assert_eq!((&*shift.name, shift.date.to_string().as_str()), ("night", "2026-11-02"));
        assert_eq!((shift.starts, shift.ends), (at("2026-11-02T22:00:00Z"), at("2026-11-03T06:00:00Z")));
    }

    #[test]
    fn the_night_of_the_spring_change_has_seven_hours_and_that_of_autumn_nine() {
        let calendar = calendar(chrono_tz::Europe::London);
        let hours = |text| {
            let shift = calendar.at(at(text)).unwrap();
            (shift.ends - shift.starts).as_seconds() / 3600.0
        };
        assert_eq!(hours("2026-03-29T00:30:00Z"), 7.0);
        assert_eq!(hours("2026-10-25T00:30:00Z"), 9.0);
    }

    #[test]
    fn a_shift_that_begins_in_the_skipped_hour_begins_after_the_jump() {
        let rule =
            ShiftRule { name: "odd".into(), starts: NaiveTime::from_hms_opt(1, 30, 0).unwrap(), days: Vec::new() };
        let shift = ShiftCalendar::new(chrono_tz::Europe::London, vec![rule]);
        assert_eq!(shift.on("2026-03-29".parse().unwrap())[0].starts, at("2026-03-29T01:00:00Z"));
    }

    #[test]
    fn the_wall_clock_shows_a_time_later_today_or_tomorrow() {
        let calendar = calendar(chrono_tz::Europe::London);
        let next = |after| calendar.next(NaiveTime::from_hms_opt(14, 30, 0).unwrap(), at(after));
        assert_eq!(next("2026-07-01T13:00:00Z"), at("2026-07-01T13:30:00Z"));
        assert_eq!(next("2026-07-01T13:30:00Z"), at("2026-07-02T13:30:00Z"));
        // The clocks go back in the night between.
        assert_eq!(next("2026-10-24T22:00:00Z"), at("2026-10-25T14:30:00Z"));
    }

    #[test]
    fn a_shift_changes_at_its_first_moment_and_at_no_other() {
        let calendar = calendar(chrono_tz::Europe::London);
        let changes = |from, to| calendar.changes_between(at(from), at(to));
        assert!(changes("2026-11-03T05:59:59Z", "2026-11-03T06:00:00Z"));
        assert!(!changes("2026-11-03T06:00:00Z", "2026-11-03T13:59:59Z"));
        assert!(changes("2026-07-03T04:59:59Z", "2026-07-03T05:00:00Z"), "summer time");
    }

    #[test]
    fn shifts_follow_each_other_without_a_hole_or_an_overlap() {
        let shifts =
            calendar(chrono_tz::America::New_York).between(at("2026-01-01T00:00:00Z"), at("2027-01-01T00:00:00Z"));
        assert!(shifts.len() > 3 * 364);
        assert!(shifts.windows(2).all(|pair| pair[0].ends == pair[1].starts));
    }

    #[test]
    fn a_shift_of_weekdays_only_lasts_until_the_next_one_begins() {
        let rule = ShiftRule { name: "week".into(), starts: NaiveTime::MIN, days: vec![Weekday::Mon] };
        let shift = ShiftCalendar::new(chrono_tz::UTC, vec![rule]).at(at("2026-11-08T12:00:00Z")).unwrap();
        assert_eq!(shift.starts, at("2026-11-02T00:00:00Z"));
        assert_eq!(shift.ends, at("2026-11-09T00:00:00Z"));
    }
}

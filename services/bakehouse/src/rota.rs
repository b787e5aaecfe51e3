//! Which crew is at the ovens: shifts are local wall-clock time, crews take turns week by week.

use chrono::{DateTime, Datelike, Days, NaiveTime, TimeZone, Utc};
use chrono_tz::Tz;

/// When shifts begin and whose they are.
#[derive(Debug, Clone)]
pub(crate) struct Rota {
    time_zone: Tz,
    starts: Vec<NaiveTime>,
    crews: usize,
}

impl Rota {
    pub(crate) fn new(time_zone: Tz, starts: &[NaiveTime], crews: usize) -> Self {
        Self { time_zone, starts: starts.to_vec(), crews: crews.max(1) }
    }

    /// The crew at work, as an index.
    pub(crate) fn crew_at(&self, time: DateTime<Utc>) -> usize {
        self.around(time).filter(|(begins, _)| *begins <= time).last().map_or(0, |(_, crew)| crew)
    }

    /// The next shift after this time and its crew.
    pub(crate) fn next_after(&self, time: DateTime<Utc>) -> Option<(DateTime<Utc>, usize)> {
        self.around(time).find(|(begins, _)| *begins > time)
    }

    /// The shifts from the day before to the day after, earliest first.
    fn around(&self, time: DateTime<Utc>) -> impl Iterator<Item = (DateTime<Utc>, usize)> {
        let yesterday = time.with_timezone(&self.time_zone).date_naive() - Days::new(1);
        (0..3).flat_map(move |day| {
            let date = yesterday + Days::new(day);
            let week = date.iso_week().week() as usize;
            self.starts.iter().enumerate().filter_map(move |(shift, start)| {
                // A start that the clocks skip in spring begins an hour later, if at all.
                let local = self.time_zone.from_local_datetime(&date.and_time(*start));
                Some((local.earliest()?.to_utc(), (shift + week) % self.crews))
            })
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn rota() -> Rota {
        let at = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
        Rota::new(chrono_tz::Europe::London, &[at(6), at(14), at(22)], 3)
    }

    fn next(after: &str) -> String {
        rota().next_after(after.parse().unwrap()).unwrap().0.to_rfc3339()
    }

    #[test]
    fn shifts_begin_by_the_wall_clock_when_clocks_change() {
        assert_eq!(next("2026-03-28T22:30:00Z"), "2026-03-29T05:00:00+00:00", "an hour less of night in spring");
        assert_eq!(next("2026-10-24T21:30:00Z"), "2026-10-25T06:00:00+00:00", "an hour more of night in autumn");
    }

    #[test]
    fn crews_take_turns_within_a_day_and_from_week_to_week() {
        let crew = |time: &str| rota().crew_at(time.parse().unwrap());
        let (early, late, night) =
            (crew("2026-11-04T07:00:00Z"), crew("2026-11-04T15:00:00Z"), crew("2026-11-05T03:00:00Z"));
        assert!(early != late && late != night && night != early);
        assert_eq!(crew("2026-11-11T07:00:00Z"), late);
    }
}

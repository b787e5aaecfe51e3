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

//! What the demo shows, and when.

use chrono::{DateTime, TimeDelta, Utc};

use crate::bakery::Bakery;
use crate::draw::{Draw, Opening};
use crate::schedule::{RateChange, Response, Run, Schedule, What};

/// How long before the demo's start its history begins.
pub const DEMO_HISTORY: TimeDelta = TimeDelta::days(3);

impl Schedule {
    /// The schedule of [`Bakery::demo`]: three days of history before `start`, four hours by the
    /// script below, and forty days that are drawn, with about three unmatched rises a day.
    ///
    /// | after the start | line | what |
    /// | --- | --- | --- |
    /// | 35 min | tunnel-1 | the band goes up 13 % for 70 min and nobody touches the oven |
    /// | 50 min | tunnel-2 | a rise of 6 % that the crew matches |
    /// | 110 min | tunnel-2 | 9 % up, nobody touches the oven |
    /// | 150 min | tunnel-3 | 10 % up, and steam falls away |
    pub fn demo(seed: u64, start: DateTime<Utc>) -> Self {
        let bakery = Bakery::demo();
        let scripted_from = start - TimeDelta::hours(2);
        let scripted_to = start + TimeDelta::hours(4);
        let history = Draw { weekly_rest: false, ..Draw::default() };
        let live = Draw { unmatched_per_day: 1.0, ..Draw::default() };
        let mut schedule = Self::quiet();
        let begins = start - DEMO_HISTORY;
        schedule.draw(&bakery, &history, seed, begins, scripted_from, Opening::Baking);
        schedule.script(scripted_from, start);
        let ends = start + TimeDelta::days(40);
        schedule.draw(&bakery, &live, seed ^ 1, scripted_to, ends, Opening::Changeover);
        schedule
    }

    fn script(&mut self, from: DateTime<Utc>, start: DateTime<Utc>) {
        for (line, product) in [("tunnel-1", "T800"), ("tunnel-2", "B400"), ("tunnel-3", "R060")] {
            let empty_for = TimeDelta::minutes(18);
            self.add(line, from, What::Changeover { to: Run::nominal(product), empty_for });
        }
        let mut rise = |line: &str, after_min, by_pct, lasts_min, response| {
            let change = RateChange::sudden(by_pct, TimeDelta::minutes(lasts_min), response);
            self.add(line, start + TimeDelta::minutes(after_min), What::RateChange(change));
        };
        rise("tunnel-1", 35, 13.0, 70, Response::NoVenting);
        rise("tunnel-2", 50, 6.0, 40, Response::Dampers);
        rise("tunnel-2", 110, 9.0, 60, Response::NoVenting);
        rise("tunnel-3", 150, 10.0, 60, Response::SteamStarved { by_pct: 20.0 });
        let gap = What::Gap { lasts: TimeDelta::seconds(120) };
        self.add("tunnel-3", start + TimeDelta::minutes(20), gap);
    }
}

//! Draws what a bakery goes through: runs, changeovers, gaps, stops, rate changes, faults.

use std::ops::Range;

use chrono::{DateTime, Datelike, Days, NaiveTime, TimeDelta, TimeZone, Utc, Weekday};
use chrono_tz::Tz;
use rand::seq::SliceRandom;
use rand::{Rng, SeedableRng};
use rand_distr::Exp1;
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::bakery::{Bakery, Line};
use crate::schedule::{RateChange, Response, Run, Schedule, Shift, What};
use crate::sensor::Fault;
use crate::tag::Tag;

/// How much of what is drawn for a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Draw {
    /// Rate changes a shift that the crew matches.
    pub matched_per_shift: f64,
    /// How large they are, %.
    pub matched_pct: Range<f64>,
    /// Rises a day that the crew does not match.
    pub unmatched_per_day: f64,
    /// How large they are, %.
    pub unmatched_pct: Range<f64>,
    /// What is done, or not done, about them; each as likely as its neighbours.
    pub unmatched: Vec<Response>,
    /// Share of the unmatched rises that creep up over 20 to 45 min.
    pub creeping: f64,
    /// Gaps of 60 to 240 s a shift.
    pub gaps_per_shift: f64,
    /// Stops of 10 to 30 min a day.
    pub stops_per_day: f64,
    /// Faults of a sensor or of what carries its readings, a day.
    pub faults_per_day: f64,
    /// Sultry nights a week.
    pub sultry_nights_per_week: f64,
    /// Whether burners go out in the night to Monday.
    pub weekly_rest: bool,
}

impl Default for Draw {
    fn default() -> Self {
        Self {
            matched_per_shift: 4.0,
            matched_pct: 2.0..12.0,
            unmatched_per_day: 0.3,
            unmatched_pct: 5.0..18.0,
            unmatched: vec![
                Response::NoVenting,
                Response::HalfVenting,
                Response::NoVenting,
                Response::SteamStarved { by_pct: 18.0 },
                Response::LateVenting { after: TimeDelta::minutes(30) },
            ],
            creeping: 0.15,
            gaps_per_shift: 3.0,
            stops_per_day: 0.7,
            faults_per_day: 0.2,
            sultry_nights_per_week: 0.5,
            weekly_rest: true,
        }
    }
}

/// How a drawn stretch begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Opening {
    /// The line is baking already.
    Baking,
    /// The line changes over to its first product.
    Changeover,
}

impl Schedule {
    /// Draws a schedule for all lines of a bakery.
    pub fn drawn(bakery: &Bakery, draw: &Draw, seed: u64, from: DateTime<Utc>, to: DateTime<Utc>) -> Self {
        let mut schedule = Self::quiet();
        schedule.draw(bakery, draw, seed, from, to, Opening::Baking);
        schedule
    }

    /// Draws what happens on all lines from one moment to another, and adds it.
    pub fn draw(
        &mut self,
        bakery: &Bakery,
        draw: &Draw,
        seed: u64,
        from: DateTime<Utc>,
        to: DateTime<Utc>,
        opening: Opening,
    ) {
        for (index, line) in bakery.lines.iter().enumerate() {
            let rng = Xoshiro256PlusPlus::seed_from_u64(seed ^ ((index as u64 + 1) << 40));
            let mut pen = Pen {
                draw,
                line,
                time_zone: bakery.time_zone,
                schedule: self,
                rng,
                next_unmatched: from,
                next_stop: from,
                to_bake: vec![],
                baking: String::new(),
            };
            pen.next_unmatched = from + pen.wait(24.0, draw.unmatched_per_day);
            pen.next_stop = from + pen.wait(24.0, draw.stops_per_day);
            pen.runs(from, to, opening);
            pen.faults(from, to);
            pen.sultry_nights(from, to);
        }
    }
}

/// Draws the schedule of one line.
struct Pen<'a> {
    draw: &'a Draw,
    line: &'a Line,
    time_zone: Tz,
    schedule: &'a mut Schedule,
    rng: Xoshiro256PlusPlus,
    next_unmatched: DateTime<Utc>,
    next_stop: DateTime<Utc>,
    /// Codes of products that have not had their turn.
    to_bake: Vec<String>,
    baking: String,
}

/// How long a line is left alone after a product has come on or the band has stood.
const SETTLING: TimeDelta = TimeDelta::minutes(35);

type Stretch = (DateTime<Utc>, DateTime<Utc>);

impl Pen<'_> {
    fn add(&mut self, at: DateTime<Utc>, what: What) {
        self.schedule.add(&self.line.id, at, what);
    }

    fn minutes(&mut self, range: Range<f64>) -> TimeDelta {
        TimeDelta::seconds((self.rng.gen_range(range) * 60.0) as i64)
    }

    /// Time until something that comes so often in so many hours comes next; very long for never.
    fn wait(&mut self, hours: f64, times: f64) -> TimeDelta {
        let wait_s = self.rng.sample::<f64, _>(Exp1) * hours * 3600.0 / times.max(1e-6);
        TimeDelta::seconds(wait_s.min(1e9) as i64)
    }

    /// Every product has its turn before one comes again, and none follows itself.
    fn next_run(&mut self) -> Run {
        if self.to_bake.is_empty() {
            self.to_bake = self.line.products.clone();
            self.to_bake.shuffle(&mut self.rng);
            if self.to_bake.last() == Some(&self.baking) {
                self.to_bake.reverse();
            }
        }
        self.baking = self.to_bake.pop().unwrap_or_default();
        Run { product: self.baking.clone(), rate: self.rng.gen_range(0.96..1.04) }
    }

    /// Runs and what parts them.
    fn runs(&mut self, from: DateTime<Utc>, to: DateTime<Utc>, opening: Opening) {
        let mut at = from;
        let run = self.next_run();
        match opening {
            Opening::Baking => self.add(at, What::Run(run)),
            Opening::Changeover => at = self.changeover(at, run),
        }
        while at < to {
            let rest = self.draw.weekly_rest.then(|| next_rest(self.time_zone, at));
            let end = at + self.minutes(180.0..420.0);
            let end = rest.map_or(end, |rest| end.min(rest)).min(to);
            self.run(at, end);
            if end >= to {
                break;
            }
            let run = self.next_run();
            at = match rest {
                Some(rest) if rest <= end + TimeDelta::minutes(60) => self.rest(end, rest, run),
                _ => self.changeover(end, run),
            };
        }
    }

    fn changeover(&mut self, at: DateTime<Utc>, to: Run) -> DateTime<Utc> {
        let empty_for = self.minutes(15.0..25.0);
        self.add(at, What::Changeover { to, empty_for });
        at + empty_for
    }

    fn rest(&mut self, at: DateTime<Utc>, planned: DateTime<Utc>, then: Run) -> DateTime<Utc> {
        let heating_for = TimeDelta::minutes(90);
        let cold_for = planned - at + TimeDelta::minutes(390);
        self.add(at, What::Rest { cold_for, heating_for, then });
        at + cold_for + heating_for
    }

    /// What happens during a run.
    fn run(&mut self, begin: DateTime<Utc>, end: DateTime<Utc>) {
        let stops = self.stops_and_rate_changes(begin + SETTLING, end - TimeDelta::minutes(5));
        let mut at = begin + TimeDelta::minutes(5) + self.wait(8.0, self.draw.gaps_per_shift);
        while at < end - TimeDelta::minutes(5) {
            let lasts = self.minutes(1.0..4.0);
            if is_free((at, at + lasts), &stops) {
                self.add(at, What::Gap { lasts });
            }
            at += TimeDelta::minutes(5) + self.wait(8.0, self.draw.gaps_per_shift);
        }
    }

    /// One after the other, each over before the next begins. Returns the stops.
    fn stops_and_rate_changes(&mut self, begin: DateTime<Utc>, end: DateTime<Utc>) -> Vec<Stretch> {
        let mut stops = vec![];
        let mut at = begin + self.minutes(2.0..25.0);
        while at < end {
            if at >= self.next_stop {
                let lasts = self.minutes(10.0..30.0);
                self.add(at, What::Stop { lasts });
                stops.push((at, at + lasts));
                at += lasts + SETTLING;
                self.next_stop = at + self.wait(24.0, self.draw.stops_per_day);
                continue;
            }
            let change = match at >= self.next_unmatched {
                true => self.unmatched(),
                false => self.matched(),
            };
            if at + change.lasts > end {
                break;
            }
            self.add(at, What::RateChange(change));
            at += change.lasts;
            if !change.response.matched() {
                self.next_unmatched = at + self.wait(24.0, self.draw.unmatched_per_day);
            }
            let pause = (8.0 / self.draw.matched_per_shift.max(0.1) - 1.3).max(0.1);
            at += TimeDelta::minutes(12) + self.wait(pause, 1.0);
        }
        stops
    }

    /// A size in tenths of a percent.
    fn size(&mut self, range: &Range<f64>) -> f64 {
        (self.rng.gen_range(range.clone()) * 10.0).round() / 10.0
    }

    fn matched(&mut self) -> RateChange {
        let size = self.size(&self.draw.matched_pct);
        let by_pct = if self.rng.gen_bool(0.5) { size } else { -size };
        let response = match size < 6.0 && self.rng.gen_bool(0.2) {
            true => Response::Steam,
            false => Response::Dampers,
        };
        RateChange::sudden(by_pct, self.minutes(30.0..100.0), response)
    }

    fn unmatched(&mut self) -> RateChange {
        let by_pct = self.size(&self.draw.unmatched_pct);
        let response = *self.draw.unmatched.choose(&mut self.rng).unwrap_or(&Response::NoVenting);
        let mut change = RateChange::sudden(by_pct, self.minutes(40.0..90.0), response);
        if self.rng.gen_bool(self.draw.creeping) {
            change.over = self.minutes(20.0..45.0);
            change.lasts += change.over;
        }
        change
    }

    fn faults(&mut self, from: DateTime<Utc>, to: DateTime<Utc>) {
        let tags = self.line.tags();
        let mut at = from + self.wait(24.0, self.draw.faults_per_day);
        while at < to {
            let one = tags.choose(&mut self.rng).copied();
            let zone = self.rng.gen_range(1..=self.line.zones.len());
            let (tag, fault) = match self.rng.gen_range(0..5) {
                0 => (Some(Tag::Humidity(zone)), Fault::Freeze),
                1 => (Some(Tag::Humidity(zone)), Fault::Drift { per_hour: 1.0 }),
                2 => (one, Fault::Dropout),
                3 => (None, Fault::Late { by: self.minutes(0.1..1.5) }),
                _ => (None, Fault::Duplicate { share: 0.1 }),
            };
            let lasts = self.minutes(10.0..60.0);
            self.add(at, What::Fault { tag, fault, lasts });
            at += lasts + self.wait(24.0, self.draw.faults_per_day);
        }
    }

    fn sultry_nights(&mut self, from: DateTime<Utc>, to: DateTime<Utc>) {
        let mut day = from + self.wait(168.0, self.draw.sultry_nights_per_week);
        while day < to {
            let by = self.rng.gen_range(0.002..0.006);
            let over = self.minutes(90.0..180.0);
            let lasts = self.minutes(300.0..540.0);
            let evening = day.with_time(NaiveTime::MIN).earliest().unwrap_or(day) + TimeDelta::hours(20);
            if evening >= from && evening + lasts + over < to {
                let shift = Shift::MakeUpHumidity { by };
                self.add(evening, What::Disturbance { shift, over, lasts });
            }
            day += TimeDelta::hours(24) + self.wait(168.0, self.draw.sultry_nights_per_week);
        }
    }
}

/// Whether a stretch keeps half an hour away from all others.
fn is_free(stretch: Stretch, others: &[Stretch]) -> bool {
    let apart = TimeDelta::minutes(30);
    others.iter().all(|other| stretch.1 + apart < other.0 || other.1 + apart < stretch.0)
}

/// The next Sunday, 22:00 local time, after this.
fn next_rest(time_zone: Tz, after: DateTime<Utc>) -> DateTime<Utc> {
    let today = after.with_timezone(&time_zone).date_naive();
    (0..15)
        .map(|day| today + Days::new(day))
        .filter(|date| date.weekday() == Weekday::Sun)
        .filter_map(|date| time_zone.from_local_datetime(&date.and_hms_opt(22, 0, 0)?).earliest())
        .map(|local| local.to_utc())
        .find(|rest| *rest > after)
        .unwrap_or(after + TimeDelta::days(7))
}

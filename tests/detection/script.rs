//! The stretch of labelled events: runs of two or three events each, one after the other.

use bakehouse::{Run, Schedule, What};
use chrono::{DateTime, TimeDelta, Utc};
use rand::seq::SliceRandom;
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::event::{Event, Truth};
use crate::family::{Drawn, Family};
use crate::ovens::Oven;

/// Events in a run of one product.
const EVENTS_PER_RUN: usize = 3;
/// How long the oven is left alone after a product has come on: it fills, and the crew settles.
const SETTLING: TimeDelta = TimeDelta::minutes(60);
/// How long it is left alone after an event.
const PAUSE: TimeDelta = TimeDelta::minutes(45);
/// How long after an event an alarm may still be about it, apart from a bake time.
const GRACE: TimeDelta = TimeDelta::minutes(10);

/// Lays the events of an oven out from this moment on. Returns them and when the last is over.
pub(crate) fn lay_out(
    oven: &Oven,
    seed: u64,
    from: DateTime<Utc>,
    schedule: &mut Schedule,
) -> (Vec<Event>, DateTime<Utc>) {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed ^ 0x5c21);
    let mut families: Vec<&Family> =
        oven.families.iter().flat_map(|&(family, count)| std::iter::repeat_n(family, count)).collect();
    families.shuffle(&mut rng);
    let mut script = Script { oven, rng, schedule, at: from, product: 0, rate: 1.0, left_in_run: 0, events: vec![] };
    for family in families {
        script.play(family);
    }
    (script.events, script.at)
}

struct Script<'a> {
    oven: &'a Oven,
    rng: Xoshiro256PlusPlus,
    schedule: &'a mut Schedule,
    at: DateTime<Utc>,
    product: usize,
    rate: f64,
    left_in_run: usize,
    events: Vec<Event>,
}

impl Script<'_> {
    fn line(&self) -> &bakehouse::Line {
        &self.oven.bakery.lines[0]
    }

    fn next_run(&mut self) -> Run {
        self.product = (self.product + 1) % self.line().products.len();
        self.rate = self.rng.gen_range(0.97..1.03);
        self.left_in_run = EVENTS_PER_RUN;
        Run { product: self.line().products[self.product].clone(), rate: self.rate }
    }

    fn bake_time_min(&self) -> f64 {
        let code = &self.line().products[self.product];
        let product = self.oven.bakery.products.iter().find(|product| product.code == *code);
        product.map_or(f64::NAN, |product| product.bake_time_min) / self.rate
    }

    fn play(&mut self, family: &Family) {
        if self.left_in_run == 0 {
            let (to, empty_for) = (self.next_run(), TimeDelta::minutes(18));
            self.happens(self.at, What::Changeover { to, empty_for });
            self.at += empty_for + SETTLING;
        }
        self.left_in_run -= 1;
        let zones = self.line().zones.len();
        let drawn = family.draw(&mut self.rng, zones);
        let settling = if self.brings_a_product(&drawn) { SETTLING } else { PAUSE };
        let began = self.at;
        let lasts = drawn.lasts;
        self.label(family, &drawn, began);
        for part in drawn.parts {
            self.happens(began + part.after, part.what);
        }
        self.at = began + lasts + settling;
    }

    fn brings_a_product(&self, drawn: &Drawn) -> bool {
        drawn.parts.iter().any(|part| matches!(part.what, What::Changeover { .. } | What::Rest { .. }))
    }

    fn happens(&mut self, at: DateTime<Utc>, what: What) {
        let what = match what {
            What::Changeover { to, empty_for } if to.product.is_empty() => {
                What::Changeover { to: self.next_run(), empty_for }
            }
            What::Rest { cold_for, heating_for, .. } => What::Rest { cold_for, heating_for, then: self.next_run() },
            what => what,
        };
        let line = self.line().id.clone();
        self.schedule.add(&line, at, what);
    }

    fn label(&mut self, family: &Family, drawn: &Drawn, began: DateTime<Utc>) {
        let bake_time_min = self.bake_time_min();
        let bake = TimeDelta::seconds((bake_time_min * 60.0) as i64);
        // A sudden change is there at once; a creep is there in full only at its end.
        let over = drawn.change.map_or(TimeDelta::zero(), |change| change.over);
        let explained = match family.truth {
            Truth::SensorFault => TimeDelta::minutes(20),
            _ => bake + GRACE,
        };
        self.events.push(Event {
            oven: self.oven.name.into(),
            family: family.name.into(),
            truth: family.truth,
            size_pct: drawn.change.map(|change| change.by_pct),
            began: began.into(),
            due: (began + over + bake + GRACE).into(),
            explains_until: (began + drawn.lasts + explained).into(),
            bake_time_min,
            finding: family.finding.map(String::from),
            signal_is_faulty: drawn.has_faulty_signal(),
        });
    }
}

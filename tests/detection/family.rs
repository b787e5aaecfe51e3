//! Families of events: what happens, and what it is worth.

use bakehouse::{Fault, RateChange, Response, Shift, Tag, What};
use chrono::TimeDelta;
use rand::Rng;
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::event::Truth;

/// A family of events that are alike.
#[derive(Debug)]
pub struct Family {
    /// Its name in the report.
    pub name: &'static str,
    /// What its events are worth.
    pub truth: Truth,
    /// The right finding of an unmatched rise.
    pub finding: Option<&'static str>,
    draw: fn(&mut Dice<'_>) -> Vec<Part>,
}

/// One thing that happens as part of an event.
pub(crate) struct Part {
    pub(crate) after: TimeDelta,
    pub(crate) what: What,
}

/// An event, drawn.
pub(crate) struct Drawn {
    pub(crate) parts: Vec<Part>,
    /// Of the rate change in it, if there is one: % and how long it takes.
    pub(crate) change: Option<RateChange>,
    /// When the last of it is over.
    pub(crate) lasts: TimeDelta,
}

impl Drawn {
    /// Whether one of the line's signals lies or is lost.
    pub(crate) fn has_faulty_signal(&self) -> bool {
        self.parts.iter().any(|part| match part.what {
            What::Fault { tag, .. } => tag.is_some(),
            What::RateChange(change) => change.response == Response::LyingSpeedTag,
            _ => false,
        })
    }
}

impl Family {
    /// Draws an event for an oven of this many zones.
    pub(crate) fn draw(&self, rng: &mut Xoshiro256PlusPlus, zones: usize) -> Drawn {
        let parts = (self.draw)(&mut Dice { rng, zones });
        let change = parts.iter().find_map(|part| match &part.what {
            What::RateChange(change) => Some(*change),
            _ => None,
        });
        let lasts = parts.iter().map(|part| part.after + lasts(&part.what)).max().unwrap_or_default();
        Drawn { parts, change, lasts }
    }
}

fn lasts(what: &What) -> TimeDelta {
    match what {
        What::Run(_) => TimeDelta::zero(),
        What::Changeover { empty_for, .. } => *empty_for,
        What::RateChange(change) => change.lasts,
        What::Gap { lasts } | What::Stop { lasts } | What::Fault { lasts, .. } => *lasts,
        What::Rest { cold_for, heating_for, .. } => *cold_for + *heating_for,
        What::Disturbance { over, lasts, .. } => *lasts + *over,
    }
}

/// What an event is drawn with.
pub(crate) struct Dice<'a> {
    rng: &'a mut Xoshiro256PlusPlus,
    zones: usize,
}

impl Dice<'_> {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        (self.rng.gen_range(low..high) * 10.0).round() / 10.0
    }

    fn minutes(&mut self, low: f64, high: f64) -> TimeDelta {
        TimeDelta::seconds((self.between(low, high) * 60.0) as i64)
    }

    fn zone(&mut self) -> usize {
        self.rng.gen_range(1..=self.zones)
    }

    fn rise(&mut self, low_pct: f64, high_pct: f64, response: Response) -> What {
        let by_pct = self.between(low_pct, high_pct);
        What::RateChange(RateChange::sudden(by_pct, self.minutes(50.0, 70.0), response))
    }

    fn creep(&mut self) -> What {
        let over = self.minutes(20.0, 45.0);
        let lasts = over + self.minutes(50.0, 70.0);
        What::RateChange(RateChange { by_pct: self.between(6.0, 18.0), over, lasts, response: Response::NoVenting })
    }

    /// A fault of an hour; in every second one a rise that the crew meets.
    fn fault(&mut self, tag: Option<Tag>, fault: Fault) -> Vec<Part> {
        let mut parts = at_once(What::Fault { tag, fault, lasts: TimeDelta::minutes(70) });
        if self.rng.gen_bool(0.5) {
            let rise = RateChange::sudden(self.between(3.0, 9.0), TimeDelta::minutes(45), Response::Dampers);
            parts.push(Part { after: TimeDelta::minutes(12), what: What::RateChange(rise) });
        }
        parts
    }

    /// A rise that nobody meets, while data come badly.
    fn rise_under(&mut self, tag: Option<Tag>, fault: Fault) -> Vec<Part> {
        let rise = self.rise(7.0, 12.0, Response::NoVenting);
        let fault = What::Fault { tag, fault, lasts: TimeDelta::minutes(80) };
        vec![Part { after: TimeDelta::zero(), what: rise }, Part { after: TimeDelta::zero(), what: fault }]
    }
}

fn at_once(what: What) -> Vec<Part> {
    vec![Part { after: TimeDelta::zero(), what }]
}

/// A family of rises that nobody meets.
const fn unmatched(name: &'static str, finding: &'static str, draw: fn(&mut Dice<'_>) -> Vec<Part>) -> Family {
    Family { name, truth: Truth::UnmatchedRise, finding: Some(finding), draw }
}

/// A family in which nothing is wrong with oven or crew.
const fn harmless(name: &'static str, draw: fn(&mut Dice<'_>) -> Vec<Part>) -> Family {
    Family { name, truth: Truth::NothingWrong, finding: None, draw }
}

const fn faulty(name: &'static str, draw: fn(&mut Dice<'_>) -> Vec<Part>) -> Family {
    Family { name, truth: Truth::SensorFault, finding: None, draw }
}

const fn disturbed(name: &'static str, draw: fn(&mut Dice<'_>) -> Vec<Part>) -> Family {
    Family { name, truth: Truth::Disturbance, finding: None, draw }
}

/// The product that an event has no say in: the script puts in the next one.
pub(crate) const NEXT_PRODUCT: &str = "";

fn next_run() -> bakehouse::Run {
    bakehouse::Run::nominal(NEXT_PRODUCT)
}

/// Every family.
pub static ALL: &[Family] = &[
    unmatched("rise 3-4 %", "carryover", |dice| at_once(dice.rise(3.0, 4.0, Response::NoVenting))),
    unmatched("rise 4-7 %", "carryover", |dice| at_once(dice.rise(4.0, 7.0, Response::NoVenting))),
    unmatched("rise 7-12 %", "carryover", |dice| at_once(dice.rise(7.0, 12.0, Response::NoVenting))),
    unmatched("rise 12-18 %", "carryover", |dice| at_once(dice.rise(12.0, 18.0, Response::NoVenting))),
    unmatched("half venting, 5-18 %", "carryover", |dice| at_once(dice.rise(5.0, 18.0, Response::HalfVenting))),
    unmatched("steam starved, 5-18 %", "steam-short", |dice| {
        let by_pct = dice.between(15.0, 25.0);
        at_once(dice.rise(5.0, 18.0, Response::SteamStarved { by_pct }))
    }),
    unmatched("lying speed tag, 5-18 %", "no-response", |dice| at_once(dice.rise(5.0, 18.0, Response::LyingSpeedTag))),
    unmatched("creep, 6-18 %", "carryover", |dice| at_once(dice.creep())),
    unmatched("rise 7-12 %, late data", "carryover", |dice| {
        let by = dice.minutes(0.1, 1.5);
        dice.rise_under(None, Fault::Late { by })
    }),
    unmatched("rise 7-12 %, a probe lost", "carryover", |dice| {
        let zone = dice.zone();
        dice.rise_under(Some(Tag::Humidity(zone)), Fault::Dropout)
    }),
    harmless("met by dampers", |dice| at_once(dice.rise(3.0, 14.0, Response::Dampers))),
    harmless("met by steam", |dice| at_once(dice.rise(3.0, 7.0, Response::Steam))),
    harmless("product change", |dice| {
        let empty_for = dice.minutes(15.0, 25.0);
        at_once(What::Changeover { to: next_run(), empty_for })
    }),
    harmless("start", |dice| {
        let cold_for = dice.minutes(50.0, 120.0);
        at_once(What::Rest { cold_for, heating_for: TimeDelta::minutes(90), then: next_run() })
    }),
    harmless("stop", |dice| at_once(What::Stop { lasts: dice.minutes(4.0, 30.0) })),
    harmless("gap", |dice| at_once(What::Gap { lasts: dice.minutes(1.0, 5.0) })),
    harmless("late data", |dice| {
        let by = dice.minutes(0.1, 1.5);
        dice.fault(None, Fault::Late { by })
    }),
    harmless("duplicated data", |dice| dice.fault(None, Fault::Duplicate { share: 0.2 })),
    disturbed("humid night", |dice| {
        let shift = Shift::MakeUpHumidity { by: dice.rng.gen_range(0.002..0.006) };
        let night = What::Disturbance { shift, over: TimeDelta::minutes(60), lasts: TimeDelta::minutes(150) };
        let rise = dice.rise(3.0, 9.0, Response::Dampers);
        vec![Part { after: TimeDelta::zero(), what: night }, Part { after: TimeDelta::minutes(70), what: rise }]
    }),
    disturbed("over-steaming", |dice| {
        let shift = Shift::Steam { by_pct: dice.between(20.0, 50.0) };
        at_once(What::Disturbance { shift, over: TimeDelta::minutes(3), lasts: TimeDelta::minutes(60) })
    }),
    faulty("probe frozen", |dice| {
        let zone = dice.zone();
        dice.fault(Some(Tag::Humidity(zone)), Fault::Freeze)
    }),
    faulty("probe drifting", |dice| {
        let zone = dice.zone();
        dice.fault(Some(Tag::Humidity(zone)), Fault::Drift { per_hour: 1.0 })
    }),
    faulty("probe lost", |dice| {
        let zone = dice.zone();
        dice.fault(Some(Tag::Humidity(zone)), Fault::Dropout)
    }),
];

/// The family of this name.
#[must_use]
pub fn of_name(name: &str) -> Option<&'static Family> {
    ALL.iter().find(|family| family.name == name)
}

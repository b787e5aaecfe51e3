//! Big rises that nobody meets are found, rises that the crew meets are not, and a day is judged the same twice.
//!
//! A few events, with wide room: how good detection is stands in the report of `tests/bench/detection`.

#![allow(clippy::unwrap_used)]

use alert::DetectionSettings;
use bakehouse::{Bakery, Draw, Line};
use chrono::TimeDelta;
use detection_benchmark::family;
use detection_benchmark::ovens::Oven;
use detection_benchmark::score::Score;
use detection_benchmark::seeds::SeedSet;
use detection_benchmark::stream::{self, Length, Outcome};

/// Two days of one product: enough to learn from, and quick without an optimising compiler.
fn small_oven() -> Oven {
    let line = Line { products: vec!["T800".into()], ..Line::tunnel("tunnel", 4, 28.0) };
    let families = [("rise 12-18 %", 4), ("met by dampers", 4)];
    Oven {
        name: "small",
        bakery: Bakery::with_line(line),
        history: Draw { weekly_rest: false, faults_per_day: 0.0, sultry_nights_per_week: 0.0, ..Draw::default() },
        families: families.map(|(name, count)| (family::of_name(name).unwrap(), count)).to_vec(),
    }
}

fn outcome() -> Outcome {
    let length = Length { history: TimeDelta::hours(40), clean: TimeDelta::zero() };
    stream::run(&small_oven(), SeedSet::Tuning.seed(0), length, DetectionSettings::default(), |_| ()).unwrap()
}

#[test]
fn big_rises_that_nobody_meets_are_found_those_that_are_met_are_not_and_twice_is_the_same() {
    let (once, again) = std::thread::scope(|scope| {
        let other = scope.spawn(outcome);
        (outcome(), other.join().unwrap())
    });
    assert_eq!(once.normals, [("T800".to_owned(), None)], "a normal was learned");
    let score = Score::of(std::slice::from_ref(&once), |outcome| &outcome.alarms);
    let big = score.group(|event| event.family == "rise 12-18 %");
    assert_eq!(big.events, 4);
    assert!(big.found == 4, "{} of 4 big rises were found: {:?}", big.found, once.alarms);
    assert!(big.named >= 3, "{} of 4 big rises were rightly named: {:?}", big.named, once.alarms);
    let met = score.group(|event| event.family == "met by dampers");
    assert_eq!(met.events, 4);
    assert!(met.false_alarms == 0, "{} false alarms at 4 rises that the crew met: {:?}", met.false_alarms, once.alarms);
    assert_eq!((once.events, once.alarms), (again.events, again.alarms), "the same seed gives the same");
}

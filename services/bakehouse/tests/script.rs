//! What is sent, in which order, and whether the labels tell the truth about it.
#![allow(clippy::unwrap_used)]

mod recording;

use std::collections::BTreeSet;
use std::time::Duration;

use bakehouse::{
    Bakery, DEMO_HISTORY, Draw, Event, EventKind, Fault, PayloadStyle, PlantValue, Response, Run, Schedule, Simulation,
    What, payload, write_labels,
};
use chrono::{DateTime, TimeDelta, Utc};
use recording::{Recording, bytes, minutes, simulation, start};

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let bakery = Bakery::demo();
    let schedule = Schedule::drawn(&bakery, &Draw::default(), 9, start(), start() + TimeDelta::hours(6));
    let run = |seed| bytes(simulation(&bakery, &schedule, seed).until(start() + minutes(40.0)));
    assert!(run(9) == run(9));
    assert!(run(9) != run(10));
    let again = Schedule::drawn(&bakery, &Draw::default(), 9, start(), start() + TimeDelta::hours(6));
    assert_eq!(schedule, again);
}

#[test]
fn every_signal_is_read_once_in_each_interval() {
    let readings: Vec<_> = simulation(&Bakery::millbrook_single(), &Schedule::quiet(), 1).take(16 * 30 + 5).collect();
    assert!(readings.windows(2).all(|pair| pair[0].sent < pair[1].sent), "staggered and in order");
    let of = |topic: &str| readings.iter().filter(|reading| &*reading.topic == topic).collect::<Vec<_>>();
    let band = of("mill/tunnel-1/band");
    assert!(band.windows(2).all(|pair| pair[1].time - pair[0].time == TimeDelta::seconds(10)));
    let product = of("mill/tunnel-1/product");
    assert_eq!(product.len(), 5, "the product is said once a minute");
    assert_eq!(product[0].value, PlantValue::Text("T800".into()));
}

#[test]
fn a_new_product_is_said_at_once() {
    let to = Run::nominal("R060");
    let changeover = What::Changeover { to, empty_for: minutes(20.0) };
    let schedule = Schedule::quiet().with("tunnel-1", start() + minutes(10.0), changeover);
    let mut simulation = simulation(&Bakery::millbrook_single(), &schedule, 1);
    let said: Vec<_> =
        simulation.until(start() + minutes(40.0)).filter(|reading| reading.topic.ends_with("/product")).collect();
    let first = said.iter().find(|reading| reading.value == PlantValue::Text("R060".into())).unwrap();
    let late = first.time - (start() + minutes(28.5));
    assert!(late >= TimeDelta::zero() && late <= TimeDelta::seconds(12), "{}", first.time);
}

#[test]
fn payloads_are_written_as_a_plant_writes_them() {
    let reading = bakehouse::PlantReading {
        time: "2026-11-01T12:00:00Z".parse().unwrap(),
        sent: "2026-11-01T12:00:00Z".parse().unwrap(),
        topic: "mill/tunnel-1/z1/temp".into(),
        value: PlantValue::Number { value: 182.4, decimals: 1 },
    };
    assert_eq!(payload(&reading, PayloadStyle::Number), b"182.4");
    let json = br#"{"value":182.4,"time":"2026-11-01T12:00:00.000Z","quality":"good"}"#;
    assert_eq!(payload(&reading, PayloadStyle::Json), json);
    let product = bakehouse::PlantReading { value: PlantValue::Text("T800".into()), ..reading };
    assert_eq!(payload(&product, PayloadStyle::Number), b"T800");
    assert!(payload(&product, PayloadStyle::Json).starts_with(br#"{"value":"T800","#));
}

#[test]
fn late_and_repeated_readings_keep_the_time_at_which_they_were_taken() {
    let fault = |fault| What::Fault { tag: None, fault, lasts: minutes(10.0) };
    let late = Schedule::quiet().with("tunnel-1", start(), fault(Fault::Late { by: TimeDelta::seconds(45) }));
    let readings: Vec<_> = simulation(&Bakery::millbrook_single(), &late, 1).until(start() + minutes(20.0)).collect();
    assert!(readings.windows(2).all(|pair| pair[0].sent <= pair[1].sent));
    let delayed = readings.iter().filter(|reading| reading.sent - reading.time == TimeDelta::seconds(45)).count();
    assert!((900..1000).contains(&delayed), "{delayed} of about 10 min x 6 x 16 readings are late");

    let twice = Schedule::quiet().with("tunnel-1", start(), fault(Fault::Duplicate { share: 0.5 }));
    let readings: Vec<_> = simulation(&Bakery::millbrook_single(), &twice, 1).until(start() + minutes(20.0)).collect();
    let distinct: BTreeSet<_> = readings.iter().map(|reading| (reading.topic.clone(), reading.time)).collect();
    let repeated = readings.len() - distinct.len();
    assert!((400..560).contains(&repeated), "{repeated} readings came twice");
}

/// Holds every label of a rate change or stop against what the speed signal did.
#[test]
fn labels_agree_with_the_speed_signal() {
    let bakery = Bakery::millbrook_single();
    let mut unmatched = Draw::default().unmatched;
    unmatched.push(Response::LyingSpeedTag);
    let draw = Draw {
        matched_per_shift: 8.0,
        unmatched_per_day: 6.0,
        unmatched,
        stops_per_day: 3.0,
        faults_per_day: 0.0,
        ..Draw::default()
    };
    let schedule = Schedule::drawn(&bakery, &draw, 4, start(), start() + TimeDelta::hours(24));
    let seen = Recording::of(&mut simulation(&bakery, &schedule, 4), TimeDelta::hours(24));
    let minute = |time: DateTime<Utc>| (time - start()).num_seconds() as f64 / 60.0;
    let mut checked = 0;
    for event in schedule.events() {
        let (began, ended) = (minute(event.began), minute(event.ended));
        match event.kind {
            EventKind::Rise | EventKind::Fall => {
                let before = seen.mean("band", began - 2.0, began);
                let after = seen.mean("band", began + 1.2, began + 3.2);
                let size = (after / before - 1.0) * 100.0;
                assert!((size - event.size_pct.unwrap()).abs() < 0.3, "{size} % by the signal: {event:?}");
            }
            EventKind::Creep => {
                let size =
                    (seen.mean("band", ended - 2.0, ended) / seen.mean("band", began - 2.0, began) - 1.0) * 100.0;
                assert!((size - event.size_pct.unwrap()).abs() < 0.3, "{size} % by the signal: {event:?}");
            }
            EventKind::Stop => {
                assert_eq!(seen.mean("band", began + 0.3, ended - 0.3), 0.0, "{event:?}");
            }
            EventKind::Gap | EventKind::Changeover => {
                assert_eq!(seen.mean("feed", began + 0.3, ended - 0.3), 0.0, "{event:?}");
                continue;
            }
            _ => continue,
        }
        checked += 1;
    }
    assert!(checked > 20, "{checked} labels were held against the signal");
}

#[test]
fn a_drawn_week_holds_what_was_asked_for() {
    let bakery = Bakery::millbrook_single();
    let days = 28;
    let draw = Draw { unmatched_per_day: 2.0, ..Draw::default() };
    let schedule = Schedule::drawn(&bakery, &draw, 7, start(), start() + TimeDelta::days(days));
    let events = schedule.events();
    let count = |kind: &dyn Fn(&Event) -> bool| events.iter().filter(|event| kind(event)).count() as i64;
    let unmatched = count(&|event| event.matched == Some(false));
    assert!((days..3 * days).contains(&unmatched), "{unmatched} unmatched rises");
    let by_crew = |event: &Event| event.matched == Some(true) && event.how.as_deref() != Some("return");
    let matched = count(&by_crew);
    assert!((5 * days..15 * days).contains(&matched), "{matched} matched rate changes");
    assert!(count(&|event| by_crew(event) && event.kind == EventKind::Fall) > days, "falls as well");
    let gaps = count(&|event| event.kind == EventKind::Gap);
    assert!((4 * days..12 * days).contains(&gaps), "{gaps} gaps");
    let stops = count(&|event| event.kind == EventKind::Stop);
    assert!((days / 4..days).contains(&stops), "{stops} stops");
    let starts: Vec<_> = events.iter().filter(|event| event.kind == EventKind::StartUp).collect();
    assert_eq!(starts.len(), 4, "one start-up each Monday");
    assert!(starts[0].ended.to_rfc3339().starts_with("2026-11-09T06:00"), "{:?}", starts[0]);
    for event in events.iter().filter(|event| event.matched == Some(false)) {
        let size = event.size_pct.unwrap();
        assert!(draw.unmatched_pct.contains(&size) || size == draw.unmatched_pct.end, "{event:?}");
    }
}

#[test]
fn the_oven_is_cold_while_it_rests_and_hot_when_dough_comes() {
    let rest = What::Rest { cold_for: minutes(240.0), heating_for: minutes(90.0), then: Run::nominal("B400") };
    let schedule = Schedule::quiet().with("tunnel-1", start() + minutes(30.0), rest);
    let seen = Recording::of(&mut simulation(&Bakery::millbrook_single(), &schedule, 2), minutes(420.0));
    assert!(seen.mean("z2/temp", 260.0, 268.0) < 130.0);
    assert!(seen.mean("z2/temp", 355.0, 360.0) > 225.0);
    assert_eq!(seen.mean("band", 80.0, 340.0), 0.0);
    assert!(seen.mean("steam", 80.0, 350.0) < 1.0);
    assert!(seen.mean("z2/dew", 120.0, 260.0) < 25.0, "dry air");
}

#[test]
fn crews_run_the_oven_each_in_their_own_way() {
    let seen = Recording::of(&mut simulation(&Bakery::millbrook_single(), &Schedule::quiet(), 2), TimeDelta::hours(24));
    let shift = |from: f64| seen.mean("z3/damper", from * 60.0, from * 60.0 + 240.0);
    let dampers = [shift(1.5), shift(8.0), shift(16.0)];
    let (low, high) =
        dampers.iter().fold((f64::MAX, f64::MIN), |(low, high), value| (low.min(*value), high.max(*value)));
    assert!((1.0..8.0).contains(&(high - low)), "{dampers:?}");
}

#[test]
fn the_demo_shows_what_it_promises() {
    let events = Schedule::demo(1, start()).events();
    let on = |line: &str, after: i64| {
        let began = start() + TimeDelta::minutes(after);
        events.iter().find(|event| event.line == line && event.began == began).cloned().unwrap()
    };
    let first = on("tunnel-1", 35);
    assert_eq!((first.kind, first.size_pct, first.matched), (EventKind::Rise, Some(13.0), Some(false)));
    assert_eq!(on("tunnel-2", 50).matched, Some(true));
    assert_eq!(on("tunnel-2", 110).size_pct, Some(9.0));
    assert_eq!(on("tunnel-3", 150).how.as_deref(), Some("steam starved"));

    let around = start() - minutes(75.0)..start() + minutes(120.0);
    let disturbing: Vec<_> = events
        .iter()
        .filter(|event| event.line == "tunnel-1" && event.ended > around.start && event.began < around.end)
        .collect();
    assert_eq!(disturbing.len(), 2, "nothing but the rise and its return: {disturbing:?}");

    let later = events.iter().filter(|event| event.began > start() + minutes(240.0) && event.matched == Some(false));
    let a_day = later.count() as f64 / 40.0;
    assert!((2.0..4.0).contains(&a_day), "{a_day} unmatched rises a day");
    assert!(events.iter().all(|event| event.began >= start() - DEMO_HISTORY));
}

/// A normal is learned from at least three runs of a product.
#[test]
fn the_demo_bakes_every_product_three_times_before_it_starts() {
    for seed in 1..30 {
        let events = Schedule::demo(seed, start()).events();
        for line in ["tunnel-1", "tunnel-2", "tunnel-3"] {
            for product in ["T800", "B400", "R060"] {
                let changeovers = events.iter().filter(|event| {
                    event.kind == EventKind::Changeover
                        && event.line == line
                        && event.began < start()
                        && event.details["product"] == product
                });
                assert!(changeovers.count() >= 3, "{product} on {line} with seed {seed}");
            }
        }
    }
}

#[test]
fn history_goes_over_into_the_live_part_without_a_seam() {
    let begins = start() - TimeDelta::hours(2);
    let schedule = Schedule::quiet();
    let new = || Simulation::new(Bakery::millbrook_single(), &schedule, 1, begins, Duration::from_secs(10)).unwrap();
    let mut handed_over = new();
    let mut both = bytes(handed_over.until(start()));
    let history = both.len();
    both.extend(bytes(handed_over.until(start() + minutes(30.0))));
    assert!(history > 0 && both.len() > history);
    assert!(both == bytes(new().until(start() + minutes(30.0))));
}

#[test]
fn labels_are_json_lines_that_can_be_read_back() {
    let events = Schedule::demo(1, start()).events();
    let mut written = vec![];
    write_labels(&mut written, &events).unwrap();
    let lines = String::from_utf8(written).unwrap();
    let read: Vec<Event> = lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(read, events);
    let first = lines.lines().find(|line| line.contains("no venting")).unwrap();
    assert!(first.contains(r#""kind":"rise""#) || first.contains(r#""kind":"creep""#), "{first}");
}

#[test]
fn a_schedule_that_does_not_fit_the_bakery_is_refused() {
    let refused = |line: &str, what| {
        let schedule = Schedule::quiet().with(line, start(), what);
        let simulation = Simulation::new(Bakery::millbrook_single(), &schedule, 1, start(), Duration::from_secs(10));
        format!("{:#}", simulation.err().unwrap())
    };
    assert!(refused("tunnel-9", What::Gap { lasts: minutes(1.0) }).contains("no line tunnel-9"));
    assert!(refused("tunnel-1", What::Run(Run::nominal("X1"))).contains("no product X1"));
    let shift = bakehouse::Shift::Damper { zone: 5, by_pct: 3.0 };
    let what = What::Disturbance { shift, over: minutes(1.0), lasts: minutes(5.0) };
    assert!(refused("tunnel-1", what).contains("no zone 5"));
}

/// Every topic of the simulation stands in the config of the demo, and no other does.
#[test]
fn the_configs_name_the_topics_that_are_sent() {
    for (file, bakery) in [("demo", Bakery::demo()), ("test-day", Bakery::millbrook_single())] {
        let config = std::fs::read_to_string(format!("../../config/{file}.toml")).unwrap();
        let named: BTreeSet<String> =
            config.split("topic = \"").skip(1).map(|rest| rest.split('"').next().unwrap().to_string()).collect();
        let mut simulation = simulation(&bakery, &Schedule::quiet(), 1);
        let sent: BTreeSet<String> =
            simulation.until(start() + minutes(2.0)).map(|reading| reading.topic.to_string()).collect();
        assert_eq!(named, sent, "{file}.toml");
    }
}

#![allow(clippy::unwrap_used)]
use super::*;
use crate::alert::{Kind, Priority};
use crate::finding::Finding;
use physics::units::{HumidityRatio, Metre, MetrePerMinute, Pascal};
use reading::{Firing, Line, Product, Shape, ShiftCalendar, SignalMap, Span, Zone, ZoneWindow};

/// kg/kg, zone by zone, of a healthy profile (invented).
const HEALTHY: [f64; 4] = [0.45, 0.16, 0.066, 0.042];

fn plant() -> Arc<Plant> {
    let product = Product {
        code: "T800".into(),
        name: "Tin loaf".into(),
        dough_kg_per_m: None,
        bake_loss_pct: None,
        dough_moisture_pct: None,
        bake_time_min: None,
        max_zone3_moisture_pct: Some(15.0),
        shape: Shape::Steamed,
    };
    let line = Line {
        id: "tunnel-1".into(),
        name: "Tunnel oven 1".into(),
        firing: Firing::Direct,
        fuel: None,
        steam_section: None,
        zones: vec![Zone { length: Metre(7.0) }; 4],
    };
    Arc::new(Plant {
        site: "millbrook".into(),
        name: "Millbrook Bakery".into(),
        pressure: Pascal(101_325.0),
        shifts: ShiftCalendar::new("UTC".parse().unwrap(), Vec::new()),
        lines: vec![line],
        products: vec![product],
        signals: SignalMap::default(),
    })
}

/// A line to which windows happen, 30 s each.
struct Story {
    watch: LineWatch,
    time: Timestamp,
    events: Vec<LineEvent>,
}

impl Story {
    fn new() -> Self {
        let watch = LineWatch::new(plant(), LineIndex(0), DetectionSettings::default());
        Self { watch, time: Timestamp(1_700_000_000_000_000), events: Vec::new() }
    }

    /// For so many minutes the band runs at this speed and the zones hold so many times the healthy profile.
    fn goes_on(mut self, minutes: usize, speed: f64, times: [f64; 4]) -> Self {
        self.windows(minutes, speed, times, RunningState::Baking);
        self
    }

    fn windows(&mut self, minutes: usize, speed: f64, times: [f64; 4], state: RunningState) {
        for index in 0..minutes * 2 {
            // A little noise, so that nothing rests on exact equality.
            let noise = 1.0 + 0.004 * ((index * 7 % 5) as f64 - 2.0);
            let zone = |(healthy, times): (f64, f64)| ZoneWindow {
                humidity: Some(HumidityRatio(healthy * times * noise)),
                // As a crew opens it that meets the load: what is wetter all the same was opened less.
                exhaust_damper: Some(50.0 * speed / 1.17 / times),
                ..ZoneWindow::default()
            };
            let window = Window {
                product: Some("T800".into()),
                band_speed: Some(MetrePerMinute(speed)),
                zones: HEALTHY.into_iter().zip(times).map(zone).collect(),
                ..Window::unmeasured(LineIndex(0), self.time, self.time + Span::seconds(30), state)
            };
            self.time = window.ends;
            self.events.extend(self.watch.observe(&window, None));
        }
    }

    fn raised(&self) -> Vec<&Alert> {
        self.events
            .iter()
            .filter_map(|event| if let LineEvent::Raised(alert) = event { Some(&**alert) } else { None })
            .collect()
    }

    fn ended(&self) -> usize {
        self.events.iter().filter(|event| matches!(event, LineEvent::Ended(_))).count()
    }

    fn loads(&self) -> Vec<LoadState> {
        self.events
            .iter()
            .filter_map(|event| if let LineEvent::Load(load) = event { Some(load.state) } else { None })
            .collect()
    }
}

const CALM: [f64; 4] = [1.0; 4];
const WET_LATE: [f64; 4] = [1.0, 1.05, 1.3, 1.4];

#[test]
fn an_unmatched_rise_raises_one_alert_that_ends_when_the_zones_are_dry_again() {
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(40, 1.32, WET_LATE).goes_on(30, 1.32, CALM);
    let raised = story.raised();
    assert_eq!(raised.len(), 1);
    let alert = raised[0];
    assert_eq!(
        (alert.kind, alert.finding, alert.priority),
        (Kind::UnmatchedSpeedRise, Finding::Carryover, Priority::High)
    );
    // Material fed at 1.32 m/min passes through zone 3 (21 m) in 16 min; by 21 min all has been said.
    let waited = (alert.raised - alert.began).as_seconds() / 60.0;
    assert!((8.0..22.0).contains(&waited), "raised after {waited} min");
    assert!(alert.message.contains("zone 4 holds") || alert.message.contains("zone 3 holds"), "{}", alert.message);
    let slower = alert.advice.iter().find_map(|advice| match advice {
        crate::alert::Advice::SlowBand { to_m_min, .. } => *to_m_min,
        _ => None,
    });
    assert!(slower.is_some_and(|to| (1.16..1.32).contains(&to)), "{slower:?}");
    assert_eq!(story.ended(), 1);
    assert_eq!(story.loads(), [LoadState::Normal, LoadState::Rising, LoadState::Overloaded, LoadState::Normal]);
}

#[test]
fn an_alert_ends_with_its_rise_and_the_next_rise_is_judged_anew() {
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(30, 1.32, WET_LATE);
    // The band is nearly back, and the zones stay as wet as they are for another reason.
    let story = story.goes_on(40, 1.19, WET_LATE);
    assert_eq!((story.raised().len(), story.ended()), (1, 1));
    let wetter = [1.0, 1.1, 1.5, 1.6];
    let story = story.goes_on(40, 1.34, wetter);
    assert_eq!(story.raised().len(), 2);
}

#[test]
fn a_band_that_is_slowed_again_before_the_zones_have_spoken_is_no_alert() {
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(10, 1.32, CALM).goes_on(30, 1.26, WET_LATE);
    assert_eq!(story.raised(), Vec::<&Alert>::new());
}

#[test]
fn a_rise_that_was_met_is_done_with_and_later_moisture_has_other_causes() {
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(45, 1.32, CALM).goes_on(20, 1.32, WET_LATE);
    assert!(story.raised().iter().all(|alert| alert.kind != Kind::UnmatchedSpeedRise), "{:?}", story.raised());
}

#[test]
fn a_rise_that_the_zones_follow_is_no_alert() {
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(60, 1.32, [1.0, 1.01, 1.02, 1.01]);
    assert_eq!(story.raised(), Vec::<&Alert>::new());
    assert_eq!(story.loads(), [LoadState::Normal, LoadState::Rising, LoadState::Normal]);
}

#[test]
fn wetter_zones_without_a_rise_are_no_unmatched_rise() {
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(60, 1.17, WET_LATE);
    assert_eq!(story.raised(), Vec::<&Alert>::new());
}

#[test]
fn a_fallen_peak_is_steam_that_did_not_keep_up() {
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(40, 1.32, [0.72, 0.95, 1.0, 1.0]);
    let findings: Vec<Finding> = story.raised().iter().map(|alert| alert.finding).collect();
    assert_eq!(findings, [Finding::SteamShort]);
}

#[test]
fn late_zones_that_are_wet_while_the_peak_falls_are_the_steam_first() {
    let a_little_short = [0.88, 1.0, 1.3, 1.4];
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(40, 1.32, a_little_short);
    let findings: Vec<Finding> = story.raised().iter().map(|alert| alert.finding).collect();
    assert_eq!(findings, [Finding::SteamShort]);
}

#[test]
fn every_zone_drier_is_too_much_exhaust() {
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(40, 1.32, [1.0, 0.7, 0.7, 0.7]);
    assert_eq!(story.raised(), Vec::<&Alert>::new(), "zone 1 holds: no finding says what that would be");
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(26, 1.32, CALM).goes_on(20, 1.32, [0.7; 4]);
    let findings: Vec<Finding> = story.raised().iter().map(|alert| alert.finding).collect();
    assert_eq!(findings, [Finding::OverVented]);
}

#[test]
fn the_hard_limit_needs_no_rise_and_adds_nothing_to_an_overload() {
    let over = [1.0, 1.0, 1.9, 1.0];
    let story = Story::new().goes_on(10, 1.17, over);
    assert_eq!(story.raised().iter().map(|alert| alert.kind).collect::<Vec<_>>(), [Kind::Zone3Limit]);
    assert!(
        story.raised()[0].message.contains("the limit set for T800 is 15.0 % vol"),
        "{}",
        story.raised()[0].message
    );
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(25, 1.32, WET_LATE).goes_on(20, 1.32, over);
    assert_eq!(story.raised().len(), 1);
}

#[test]
fn a_changeover_ends_what_stands() {
    let mut story = Story::new().goes_on(40, 1.17, CALM).goes_on(30, 1.32, WET_LATE);
    assert_eq!((story.raised().len(), story.ended()), (1, 0));
    story.windows(1, 1.32, WET_LATE, RunningState::Changeover);
    assert_eq!(story.ended(), 1);
    assert_eq!(story.loads().last(), Some(&LoadState::Unknown));
}

#[test]
fn the_same_windows_give_the_same_alert_with_the_same_id() {
    let story = || Story::new().goes_on(40, 1.17, CALM).goes_on(40, 1.32, WET_LATE);
    assert_eq!(story().raised(), story().raised());
}

#[test]
fn the_judgements_lead_to_the_alert_and_begin_anew_with_the_next_rise() {
    let story = Story::new().goes_on(40, 1.17, CALM).goes_on(40, 1.32, WET_LATE);
    let alert = story.raised()[0].clone();
    let judgements = story.watch.judgements();
    assert!(judgements.iter().all(|judgement| judgement.rise.began == alert.began));
    let deciding = judgements.iter().position(|judgement| judgement.at == alert.raised).unwrap();
    // It had to last for the on-delay: the window before supported the finding as well.
    for judgement in &judgements[deciding - 1..=deciding] {
        assert_eq!(judgement.finding, Some(alert.finding));
        let chance = judgement.evidence.chance_of(alert.finding);
        assert!(chance <= DetectionSettings::default().false_alarm_probability(), "{chance}");
    }
    assert_eq!(judgements[0].finding, None);
    assert_eq!(judgements[0].evidence.unanswered, None);
    let told: Vec<Option<f64>> = alert.zones.iter().map(|zone| zone.z).collect();
    let zones = &judgements[deciding].evidence.zones;
    assert_eq!(told, zones.iter().map(|zone| zone.reached.then(|| zone.z())).collect::<Vec<_>>());

    let story = story.goes_on(40, 1.32, CALM).goes_on(30, 1.45, CALM);
    assert!(story.watch.judgements().iter().all(|judgement| judgement.rise.began > alert.raised));
    assert!(!story.watch.judgements().is_empty());
}

/// Lets windows happen that `shape` makes of a calm one, 30 s each.
fn happen(minutes: i64, shape: impl Fn(i64, &mut Window)) -> Vec<Alert> {
    let mut watch = LineWatch::new(plant(), LineIndex(0), DetectionSettings::default());
    let mut raised = Vec::new();
    for index in 0..minutes * 2 {
        let starts = Timestamp(1_700_000_000_000_000) + Span::seconds(30 * index);
        let zone = |humidity| ZoneWindow {
            humidity: Some(HumidityRatio(humidity)),
            exhaust_damper: Some(50.0),
            ..ZoneWindow::default()
        };
        let mut window = Window {
            product: Some("T800".into()),
            band_speed: Some(MetrePerMinute(1.17)),
            fed: Some(true),
            steam_flow: Some(180.0),
            zones: HEALTHY.into_iter().map(zone).collect(),
            ..Window::unmeasured(LineIndex(0), starts, starts + Span::seconds(30), RunningState::Baking)
        };
        shape(index / 2, &mut window);
        let events = watch.observe(&window, None);
        raised.extend(events.into_iter().filter_map(|event| match event {
            LineEvent::Raised(alert) => Some(*alert),
            _ => None,
        }));
    }
    raised
}

#[test]
fn zones_that_do_not_follow_a_load_that_nobody_met_say_that_a_signal_lies() {
    let faster = |minute: i64, window: &mut Window| {
        if minute >= 40 {
            window.band_speed = Some(MetrePerMinute(1.32));
        }
    };
    let findings = |alerts: Vec<Alert>| alerts.iter().map(|alert| alert.finding).collect::<Vec<_>>();
    assert_eq!(findings(happen(80, faster)), [Finding::NoResponse]);
    let met = |minute: i64, window: &mut Window| {
        faster(minute, window);
        if minute >= 40 {
            window.zones.iter_mut().for_each(|zone| zone.exhaust_damper = Some(56.0));
        }
    };
    assert_eq!(findings(happen(80, met)), []);
}

#[test]
fn steam_that_stays_on_without_product_is_told_and_a_gap_is_not() {
    let empty_from_to = |from: i64, to: i64| {
        happen(90, move |minute, window| {
            if (from..to).contains(&minute) {
                (window.fed, window.state) = (Some(false), RunningState::Gap);
            }
        })
    };
    let told = empty_from_to(40, 80);
    assert_eq!(
        told.iter().map(|alert| (alert.kind, alert.finding)).collect::<Vec<_>>(),
        [(Kind::OverSteaming, Finding::SteamWithoutProduct)]
    );
    assert!(told[0].message.contains("180 kg/h"), "{}", told[0].message);
    assert_eq!(empty_from_to(40, 50), []);
}

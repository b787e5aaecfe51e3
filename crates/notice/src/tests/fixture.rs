//! An invented plant, and an alert of it.

use alert::{Alert, AlertState, Priority};
use chrono::NaiveTime;
use physics::units::{Metre, Pascal};
use reading::shift::ShiftRule;
use reading::{Firing, Line, Plant, ShiftCalendar, SignalMap, Timestamp, Zone};
use serde_json::json;

use crate::{Event, Notice};

pub(super) fn at(text: &str) -> Timestamp {
    Timestamp::parse(text).unwrap()
}

pub(super) fn time_of_day(hour: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, 0, 0).unwrap()
}

/// Early from 6, late from 14, night from 22, in winter's London, where the clock shows UTC.
pub(super) fn calendar() -> ShiftCalendar {
    let rule = |name: &str, hour| ShiftRule { name: name.into(), starts: time_of_day(hour), days: Vec::new() };
    ShiftCalendar::new(chrono_tz::Europe::London, vec![rule("early", 6), rule("late", 14), rule("night", 22)])
}

pub(super) fn plant() -> Plant {
    let line = Line {
        id: "tunnel-1".into(),
        name: "Tunnel oven <1>".into(),
        firing: Firing::Direct,
        fuel: None,
        steam_section: None,
        zones: vec![Zone { length: Metre(7.0) }; 4],
    };
    Plant {
        site: "millbrook".into(),
        name: "Millbrook Bakery".into(),
        pressure: Pascal(100_200.0),
        shifts: calendar(),
        lines: vec![line],
        products: Vec::new(),
        signals: SignalMap::new(Vec::new()),
    }
}

pub(super) fn alert(priority: Priority, state: AlertState) -> Alert {
    let over = Event::of(state) == Event::Ended;
    let zone = |zone: usize, observed: f64, expected: f64| {
        json!({ "zone": zone, "before": expected, "observed": observed, "expected": expected, "low": expected * 0.9,
                "high": expected * 1.1, "unit": "% vol", "z": 1.0 })
    };
    serde_json::from_value(json!({
        "id": "01KFIXTURE", "site": "millbrook", "line": "tunnel-1", "kind": "unmatched-speed-rise",
        "finding": "carryover", "priority": priority, "state": state, "product": "T800",
        "began": "2026-11-02T14:02:00Z", "raised": "2026-11-02T14:09:00Z",
        "ended": over.then_some("2026-11-02T14:40:00Z"), "speed": null,
        "zones": [zone(1, 38.6, 38.0), zone(2, 27.4, 24.0), zone(3, 6.2, 4.9), zone(4, 2.0, 2.6)],
        "confidence": 0.998, "normal": "tunnel-1/T800/3",
        "message": "Band up 13.7 % at 14:02; zone 3 holds 6.2 % vol, 1.3 above normal for this speed: moisture is being carried past zone 2.",
        "advice": [
            { "step": "check-steam-valve", "text": "Steam first: is the valve where it was, and the steam time as set?" },
            { "step": "open-exhaust", "text": "Open the exhaust of zone 3 from 40 to about 51 %.", "zone": 3, "to_pct": 51 }
        ],
        "caution": alert::advice::CAUTION,
    }))
    .unwrap()
}

pub(super) fn notice(priority: Priority, state: AlertState) -> Notice {
    let event = Event::of(state);
    Notice {
        id: format!("01KFIXTURE-{}-7", event.name()),
        event,
        due: at("2026-11-02T14:09:01Z"),
        attempts: 0,
        alert: alert(priority, state),
    }
}

//! What really happened: the labels beside a simulated stream.

use std::collections::BTreeMap;
use std::io::{self, Write};

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use crate::schedule::{Happening, RateChange, Response, Schedule, Shift, What};
use crate::sensor::Fault;
use crate::tag::Tag;

/// A labelled event.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// Id of the line.
    pub line: String,
    /// What happened.
    pub kind: EventKind,
    /// When it began.
    pub began: DateTime<Utc>,
    /// When it ended: for a rate change, when the speed began to return.
    pub ended: DateTime<Utc>,
    /// Change of band speed, % of the speed before.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub size_pct: Option<f64>,
    /// For a rate change, whether the oven was set to match it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub matched: Option<bool>,
    /// For a rate change, what was done about it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub how: Option<String>,
    /// Whatever else belongs to this kind.
    #[serde(skip_serializing_if = "BTreeMap::is_empty", default)]
    pub details: BTreeMap<String, Value>,
}

/// What an event is, in the bakery's words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum EventKind {
    /// The band goes faster.
    Rise,
    /// The band goes slower.
    Fall,
    /// A rate change, up or down, that takes ten minutes or longer.
    Creep,
    /// No dough enters for a moment.
    Gap,
    /// One product goes, another comes.
    Changeover,
    /// The band stands.
    Stop,
    /// Burners are out.
    Rest,
    /// Burners are lit, and no dough enters yet.
    StartUp,
    /// A sensor shows the same value again and again.
    SensorFreeze,
    /// A sensor moves away from the truth.
    SensorDrift,
    /// A sensor sends nothing.
    SensorDropout,
    /// Readings are sent late.
    LateData,
    /// Some readings are sent twice.
    DuplicatedData,
    /// A damper moves away from where it was set.
    DamperShift,
    /// The steam flow changes by itself.
    SteamShift,
    /// A zone's temperature moves away from its setpoint.
    TemperatureShift,
    /// The air that is drawn in gets more humid.
    HumidAir,
}

/// How long the speed takes to return after a rate change.
pub(crate) const RETURN_OVER: TimeDelta = TimeDelta::seconds(60);
const CREEPING: TimeDelta = TimeDelta::minutes(10);

impl Schedule {
    /// The labels of everything that happens, earliest first.
    pub fn events(&self) -> Vec<Event> {
        let mut events: Vec<Event> = self.happenings.iter().flat_map(label).collect();
        events.sort_by(|one, other| one.began.cmp(&other.began).then_with(|| one.line.cmp(&other.line)));
        events
    }
}

/// Writes labels as JSON lines.
pub fn write_labels(mut out: impl Write, events: &[Event]) -> io::Result<()> {
    for event in events {
        serde_json::to_writer(&mut out, event)?;
        out.write_all(b"\n")?;
    }
    out.flush()
}

fn label(happening: &Happening) -> Vec<Event> {
    let event = |kind, after: TimeDelta, lasts: TimeDelta, details: Value| Event {
        line: happening.line.to_string(),
        kind,
        began: happening.at + after,
        ended: happening.at + after + lasts,
        size_pct: None,
        matched: None,
        how: None,
        details: match details {
            Value::Object(map) => map.into_iter().collect(),
            _ => BTreeMap::new(),
        },
    };
    let now = TimeDelta::zero();
    match &happening.what {
        What::Run(_) => vec![],
        What::Changeover { to, empty_for } => {
            vec![event(EventKind::Changeover, now, *empty_for, json!({ "product": to.product }))]
        }
        What::Gap { lasts } => vec![event(EventKind::Gap, now, *lasts, Value::Null)],
        What::Stop { lasts } => vec![event(EventKind::Stop, now, *lasts, Value::Null)],
        What::Rest { cold_for, heating_for, then } => vec![
            event(EventKind::Rest, now, *cold_for, Value::Null),
            event(EventKind::StartUp, *cold_for, *heating_for, json!({ "product": then.product })),
        ],
        What::Fault { tag, fault, lasts } => {
            vec![event(fault_kind(*fault), now, *lasts, fault_details(*tag, *fault))]
        }
        What::Disturbance { shift, over, lasts } => {
            let (kind, mut details) = shift_label(*shift);
            details["over_s"] = json!(over.num_seconds());
            vec![event(kind, now, *lasts, details)]
        }
        What::RateChange(change) => {
            let (there, back) = (change.by_pct, (100.0 / (100.0 + change.by_pct) - 1.0) * 100.0);
            let details = match change.response {
                Response::SteamStarved { by_pct } => json!({ "steam_lost_pct": by_pct }),
                Response::LateVenting { after } => json!({ "vented_after_s": after.num_seconds() }),
                _ => Value::Null,
            };
            vec![
                Event {
                    size_pct: Some(there),
                    matched: Some(change.response.matched()),
                    how: Some(how(change.response).into()),
                    ..event(rate_kind(change), now, change.lasts, details)
                },
                Event {
                    size_pct: Some((back * 1000.0).round() / 1000.0),
                    matched: Some(true),
                    how: Some("return".into()),
                    ..event(direction(back), change.lasts, RETURN_OVER, Value::Null)
                },
            ]
        }
    }
}

fn rate_kind(change: &RateChange) -> EventKind {
    match change.over >= CREEPING {
        true => EventKind::Creep,
        false => direction(change.by_pct),
    }
}

fn direction(by_pct: f64) -> EventKind {
    match by_pct < 0.0 {
        true => EventKind::Fall,
        false => EventKind::Rise,
    }
}

fn how(response: Response) -> &'static str {
    match response {
        Response::Dampers => "dampers",
        Response::Steam => "steam",
        Response::NoVenting => "no venting",
        Response::HalfVenting => "half venting",
        Response::SteamStarved { .. } => "steam starved",
        Response::LateVenting { .. } => "late venting",
        Response::LyingSpeedTag => "lying speed tag",
    }
}

fn fault_kind(fault: Fault) -> EventKind {
    match fault {
        Fault::Freeze => EventKind::SensorFreeze,
        Fault::Drift { .. } => EventKind::SensorDrift,
        Fault::Dropout => EventKind::SensorDropout,
        Fault::Late { .. } => EventKind::LateData,
        Fault::Duplicate { .. } => EventKind::DuplicatedData,
    }
}

fn fault_details(tag: Option<Tag>, fault: Fault) -> Value {
    let mut details = match fault {
        Fault::Drift { per_hour } => json!({ "per_hour": per_hour }),
        Fault::Late { by } => json!({ "late_s": by.num_seconds() }),
        Fault::Duplicate { share } => json!({ "share": share }),
        Fault::Freeze | Fault::Dropout => json!({}),
    };
    details["signal"] = match tag {
        None => json!("all"),
        Some(Tag::Band) => json!("band"),
        Some(Tag::Product) => json!("product"),
        Some(Tag::Feed) => json!("feed"),
        Some(Tag::Steam) => json!("steam"),
        Some(Tag::Gas) => json!("gas"),
        Some(Tag::HallTemperature) => json!("hall temperature"),
        Some(Tag::HallHumidity) => json!("hall humidity"),
        Some(Tag::Temperature(zone)) => json!(format!("zone {zone} temperature")),
        Some(Tag::Humidity(zone)) => json!(format!("zone {zone} humidity")),
        Some(Tag::Damper(zone)) => json!(format!("zone {zone} damper")),
    };
    details
}

fn shift_label(shift: Shift) -> (EventKind, Value) {
    match shift {
        Shift::Damper { zone, by_pct } => (EventKind::DamperShift, json!({ "zone": zone, "by_pct": by_pct })),
        Shift::Steam { by_pct } => (EventKind::SteamShift, json!({ "by_pct": by_pct })),
        Shift::Temperature { zone, by_c } => (EventKind::TemperatureShift, json!({ "zone": zone, "by_c": by_c })),
        Shift::MakeUpHumidity { by } => (EventKind::HumidAir, json!({ "by_kg_kg": by })),
    }
}

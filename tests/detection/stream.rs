//! Runs an oven: history, clean days, events, all through the one detection path.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use alert::{DetectionSettings, LineEvent, Normals, Watch};
use anyhow::Result;
use bakehouse::{Draw, EventKind, Opening, Schedule, Simulation};
use chrono::{DateTime, TimeDelta, Utc};
use normal_profile::{LearnSettings, NormalKey};
use reading::{LineIndex, Plant, RunningState, Timestamp, Window, WindowBuilder};
use serde::{Deserialize, Serialize};

use crate::event::{Alarm, Event, Truth};
use crate::ovens::Oven;
use crate::plant;
use crate::script;

/// The name of our own method in the report.
pub const OVENWARD: &str = "ovenward";
/// Every signal is read this often.
const INTERVAL: Duration = Duration::from_secs(10);
/// Detection looks on before its alarms count.
const WARM_UP: TimeDelta = TimeDelta::hours(3);

/// How long an oven is watched.
#[derive(Debug, Clone, Copy)]
pub struct Length {
    /// Days from which the normals are learned.
    pub history: TimeDelta,
    /// Days in which nobody does anything wrong.
    pub clean: TimeDelta,
}

impl Default for Length {
    fn default() -> Self {
        Self { history: TimeDelta::days(9), clean: TimeDelta::days(5) }
    }
}

/// What an oven's run gave.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Outcome {
    /// Name of the oven.
    pub oven: String,
    /// The labels.
    pub events: Vec<Event>,
    /// What was raised once the normals were learned.
    pub alarms: Vec<Alarm>,
    /// From when on alarms count.
    pub learned_until: Timestamp,
    /// The clean days end, the events begin.
    pub clean_until: Timestamp,
    /// The end.
    pub ends: Timestamp,
    /// Products with a normal, and those without with the reason.
    pub normals: Vec<(String, Option<String>)>,
}

/// Runs an oven. `keep` sees every window, in order.
///
/// # Errors
/// The bakery cannot be simulated.
pub fn run(
    oven: &Oven,
    seed: u64,
    length: Length,
    settings: DetectionSettings,
    mut keep: impl FnMut(&Window),
) -> Result<Outcome> {
    let start: DateTime<Utc> = "2026-06-01T05:00:00Z".parse()?;
    let learned_until = start + length.history;
    let clean_until = learned_until + length.clean;
    let mut schedule = Schedule::quiet();
    let clean = Draw { unmatched_per_day: 0.0, ..oven.history.clone() };
    schedule.draw(&oven.bakery, &oven.history, seed, start, learned_until, Opening::Baking);
    schedule.draw(&oven.bakery, &clean, seed ^ 0x77, learned_until, clean_until, Opening::Changeover);
    let mut events = labels(&schedule, oven, learned_until.into());
    let (scripted, ends) = script::lay_out(oven, seed, clean_until, &mut schedule);
    events.extend(scripted);

    let plant = Arc::new(plant::plant(&oven.bakery));
    let mut simulation = Simulation::new(oven.bakery.clone(), &schedule, seed, start, INTERVAL)?;
    let mut builder = WindowBuilder::new(plant.clone(), LineIndex(0), settings.window);
    let mut watch = Watch::new(plant.clone(), Normals::new(), settings);
    let mut history = Vec::new();
    for said in simulation.until(learned_until) {
        let Some(reading) = plant::reading(&plant.signals, &said) else { continue };
        builder.push(&reading);
        history.extend(std::iter::from_fn(|| builder.next_closed()));
        if said.sent >= learned_until - WARM_UP {
            watch.push(&reading);
        }
    }
    history.iter().for_each(&mut keep);
    let (normals, told) = learn(&plant, &history, &settings);
    watch.replace_normals(normals);
    let mut alarms = Vec::new();
    for said in simulation.until(ends) {
        let Some(reading) = plant::reading(&plant.signals, &said) else { continue };
        builder.push(&reading);
        std::iter::from_fn(|| builder.next_closed()).for_each(|window| keep(&window));
        for event in watch.push(&reading) {
            if let LineEvent::Raised(alert) = event.what {
                alarms.push(Alarm {
                    method: OVENWARD.into(),
                    oven: oven.name.into(),
                    raised: alert.raised,
                    kind: alert.kind.name().into(),
                    finding: alert.finding.name().into(),
                });
            }
        }
    }
    Ok(Outcome {
        oven: oven.name.into(),
        events,
        alarms,
        learned_until: learned_until.into(),
        clean_until: clean_until.into(),
        ends: ends.into(),
        normals: told,
    })
}

/// The family of the faults and sultry nights of the clean days: they explain, and nobody counts them.
pub const BACKGROUND: &str = "background";

fn labels(schedule: &Schedule, oven: &Oven, from: Timestamp) -> Vec<Event> {
    let truth = |kind| match kind {
        EventKind::SensorFreeze | EventKind::SensorDrift | EventKind::SensorDropout => Some(Truth::SensorFault),
        EventKind::HumidAir => Some(Truth::Disturbance),
        _ => None,
    };
    let label = |event: bakehouse::Event| {
        let ended = event.ended + TimeDelta::minutes(20);
        Some(Event {
            oven: oven.name.into(),
            family: BACKGROUND.into(),
            truth: truth(event.kind)?,
            size_pct: None,
            began: event.began.into(),
            due: ended.into(),
            explains_until: ended.into(),
            bake_time_min: 0.0,
            finding: None,
            signal_is_faulty: truth(event.kind) == Some(Truth::SensorFault),
        })
    };
    schedule.events().into_iter().filter_map(label).filter(|event| event.explains_until > from).collect()
}

/// A normal for every product that was baked enough, by the path of `ovenward learn`; and for each product
/// why it has none.
pub fn learn(
    plant: &Arc<Plant>,
    windows: &[Window],
    settings: &DetectionSettings,
) -> (Normals, Vec<(String, Option<String>)>) {
    let baked = windows.iter().filter(|window| window.state == RunningState::Baking);
    let products: BTreeSet<Arc<str>> = baked.filter_map(|window| window.product.clone()).collect();
    let line = &plant.lines[0];
    let mut normals = Normals::new();
    let mut told = Vec::new();
    for product in products {
        let code = Some(product.clone());
        let observations = alert::history::observations(windows, &code);
        let rises = alert::history::rises(windows, &code, line, settings);
        let key = NormalKey {
            site: plant.site.to_string(),
            line: line.id.to_string(),
            product: product.to_string(),
            version: 1,
        };
        match normal_profile::learn(key, &observations, &rises, &LearnSettings::default()) {
            Ok(normal) => {
                told.push((product.to_string(), None));
                normals.insert((LineIndex(0), product), Arc::new(normal));
            }
            Err(why) => told.push((product.to_string(), Some(why.to_string()))),
        }
    }
    (normals, told)
}

//! Watches the signals themselves: what they say of the oven is worth nothing while they are in trouble.

use std::collections::BTreeMap;

use reading::{RunningState, TroubleKind, Window};

use crate::advice;
use crate::alert::{Alert, Kind, Priority};
use crate::context::Context;
use crate::finding::Finding;
use crate::line_watch::LineEvent;
use crate::message;
use crate::standing::Standing;

/// Signals of one place with one trouble have one cause: a cable, a gateway, a sensor head.
type Place = (Option<usize>, TroubleKind);

/// Watches the signals of one line.
#[derive(Debug, Clone, Default)]
pub(crate) struct SensorWatch {
    places: BTreeMap<Place, Standing>,
}

impl SensorWatch {
    pub(crate) fn standing(&self) -> impl Iterator<Item = &Alert> {
        self.places.values().filter_map(Standing::alert)
    }

    /// Takes a window in whatever state: a sensor is as broken on an oven that is being heated. Only
    /// stillness says nothing while the oven does nothing.
    pub(crate) fn observe(&mut self, context: &Context, window: &Window) -> Vec<LineEvent> {
        let baking = window.state == RunningState::Baking;
        let counts = |kind| kind != TroubleKind::Stuck || baking;
        for trouble in window.troubles.iter().filter(|trouble| counts(trouble.kind)) {
            let place = (trouble.zone, trouble.kind);
            self.places.entry(place).or_insert_with(|| Standing::new(context.settings.sensor_delays));
        }
        let mut events = Vec::new();
        for (&(zone, kind), standing) in &mut self.places {
            if !counts(kind) {
                continue;
            }
            let here = window.troubles.iter().filter(|trouble| (trouble.zone, trouble.kind) == (zone, kind));
            let here: Vec<_> = here.collect();
            events.extend(standing.observe(!here.is_empty(), window, |since| {
                let began = here.iter().map(|trouble| trouble.since).min()?.min(since);
                let finding = Finding::of_trouble(kind);
                let about = format!("{} {zone:?}", finding.name());
                let mut alert = context.alert(Kind::SensorFault, finding, &about, began, window);
                alert.priority = Priority::Medium;
                let signals = &context.plant.signals;
                alert.signals = here.iter().map(|trouble| signals.get(trouble.signal).tag.to_string()).collect();
                alert.message = message::of_trouble(kind, zone, &here, began, &context.plant.shifts);
                alert.advice = advice::for_trouble(kind);
                Some(alert)
            }));
        }
        self.places.retain(|_, standing| !standing.is_idle());
        events
    }
}

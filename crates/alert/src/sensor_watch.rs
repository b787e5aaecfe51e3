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

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use std::sync::Arc;

    use physics::units::{Metre, Pascal};
    use reading::{
        Firing, Line, LineIndex, Plant, Quantity, ShiftCalendar, Signal, SignalId, SignalMap, Span, Timestamp, Trouble,
        Zone,
    };

    use super::*;
    use crate::settings::DetectionSettings;

    const BEGAN: Timestamp = Timestamp(1_780_380_000_000_000);

    fn context() -> Context {
        let zone = |zone| Signal::of_topic(&format!("mill/z{zone}/dew"), LineIndex(0), Some(zone), Quantity::DewPoint);
        let plant = Plant {
            site: "millbrook".into(),
            name: "Millbrook Bakery".into(),
            pressure: Pascal(101_325.0),
            shifts: ShiftCalendar::new("UTC".parse().unwrap(), Vec::new()),
            lines: vec![Line {
                id: "tunnel-1".into(),
                name: "Tunnel oven 1".into(),
                firing: Firing::Direct,
                fuel: None,
                steam_section: None,
                zones: vec![Zone { length: Metre(7.0) }; 2],
            }],
            products: Vec::new(),
            signals: SignalMap::new(vec![zone(1), zone(2)]),
        };
        Context { plant: Arc::new(plant), line: LineIndex(0), settings: DetectionSettings::default() }
    }

    fn trouble(zone: usize, kind: TroubleKind) -> Trouble {
        Trouble {
            signal: SignalId(zone as u32 - 1),
            zone: Some(zone),
            quantity: Quantity::DewPoint,
            kind,
            since: BEGAN,
        }
    }

    /// What is told in an hour in which a line is in this state, with these troubles up to a minute.
    fn told(state: RunningState, troubles: &[Trouble], until: i64) -> Vec<LineEvent> {
        let (context, mut watch) = (context(), SensorWatch::default());
        let windows = (0..120).map(|half_minute| {
            let starts = BEGAN + Span::seconds(30 * half_minute);
            let troubles = if half_minute < until * 2 { troubles.to_vec() } else { Vec::new() };
            Window { troubles, ..Window::unmeasured(LineIndex(0), starts, starts + Span::seconds(30), state) }
        });
        windows.flat_map(|window| watch.observe(&context, &window)).collect()
    }

    fn messages(events: &[LineEvent]) -> Vec<String> {
        let message = |event: &LineEvent| match event {
            LineEvent::Raised(alert) => Some(format!("{} {}", alert.message, alert.signals.join(" "))),
            LineEvent::Ended(alert) => Some(format!("{} has ended", alert.finding.name())),
            LineEvent::Load(_) => None,
        };
        events.iter().filter_map(message).collect()
    }

    #[test]
    fn a_still_sensor_is_told_while_the_oven_bakes_and_not_while_it_stands() {
        let still = [trouble(2, TroubleKind::Stuck)];
        let told_of = messages(&told(RunningState::Baking, &still, 30));
        assert_eq!(told_of.len(), 2, "{told_of:?}");
        assert!(
            told_of[0].starts_with("Dew point of zone 2: the same value again and again since 06:00."),
            "{told_of:?}"
        );
        assert!(told_of[0].ends_with("mill/z2/dew"), "{told_of:?}");
        assert_eq!(told_of[1], "stuck has ended");
        assert_eq!(told(RunningState::Stopped, &still, 30), [], "what does nothing does not tremble");
        assert_eq!(told(RunningState::Baking, &still, 2), [], "shorter than its delay");
    }

    #[test]
    fn what_else_speaks_against_a_sensor_is_told_in_every_state_and_place_by_place() {
        let silent = [trouble(1, TroubleKind::Silent), trouble(2, TroubleKind::Silent)];
        for state in [RunningState::Baking, RunningState::Stopped, RunningState::Heating] {
            assert_eq!(messages(&told(state, &silent, 60)).len(), 2, "{state:?}");
        }
    }
}

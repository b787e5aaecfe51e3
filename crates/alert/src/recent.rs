//! The last hours of one line, as detection needs them.

use std::collections::VecDeque;

use reading::{RunningState, Span, Timestamp, Window};

/// How far back a line is remembered: the slowest product's bake, a creep before it, and a gap.
const MEMORY: Span = Span::minutes(180);

/// One window with the figures that are used again and again.
#[derive(Debug, Clone)]
pub(crate) struct Moment {
    pub(crate) starts: Timestamp,
    pub(crate) ends: Timestamp,
    pub(crate) baking: bool,
    /// ln m/min.
    pub(crate) ln_speed: Option<f64>,
    /// ln kg/kg, zone by zone.
    pub(crate) ln_humidity: Vec<Option<f64>>,
    /// Openings in %, zone by zone, and the steam in the unit of its signal.
    pub(crate) settings: Settings,
    /// Band travel since the memory began, m, at the end of the window.
    pub(crate) travelled: f64,
}

/// What the crew sets.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Settings {
    pub(crate) dampers: Vec<Option<f64>>,
    pub(crate) steam: Option<f64>,
}

impl Settings {
    /// The means of these; unknown where one of them does not know.
    pub(crate) fn mean<'a>(all: impl Iterator<Item = &'a Self> + Clone) -> Self {
        let mean = |value: &dyn Fn(&Self) -> Option<f64>| {
            let values: Option<Vec<f64>> = all.clone().map(value).collect();
            values.filter(|values| !values.is_empty()).map(|values| values.iter().sum::<f64>() / values.len() as f64)
        };
        let zones = all.clone().next().map_or(0, |settings| settings.dampers.len());
        let damper = |zone: usize| mean(&|settings| settings.dampers.get(zone).copied().flatten());
        Self { dampers: (0..zones).map(damper).collect(), steam: mean(&|settings| settings.steam) }
    }
}

/// The windows of the last hours, oldest first.
#[derive(Debug, Clone, Default)]
pub(crate) struct Recent {
    moments: VecDeque<Moment>,
}

impl Recent {
    pub(crate) fn push(&mut self, window: &Window) {
        let speed = window.band_speed.map(|speed| speed.0).filter(|speed| *speed > 0.0);
        let minutes = (window.ends - window.starts).as_seconds() / 60.0;
        let before = self.moments.back().map_or(0.0, |moment| moment.travelled);
        self.moments.push_back(Moment {
            starts: window.starts,
            ends: window.ends,
            baking: window.state == RunningState::Baking,
            ln_speed: speed.map(f64::ln),
            ln_humidity: window
                .zones
                .iter()
                .map(|zone| zone.humidity.map(|w| w.0.ln()).filter(|w| w.is_finite()))
                .collect(),
            settings: Settings {
                dampers: window.zones.iter().map(|zone| zone.exhaust_damper).collect(),
                steam: window.steam(),
            },
            travelled: before + speed.unwrap_or(0.0) * minutes,
        });
        while self.moments.front().is_some_and(|first| first.ends + MEMORY < window.ends) {
            self.moments.pop_front();
        }
    }

    /// Windows from newest to oldest.
    pub(crate) fn newest_first(&self) -> impl Iterator<Item = &Moment> {
        self.moments.iter().rev()
    }

    /// What the crew has set now: the mean of the last two minutes.
    pub(crate) fn settings(&self) -> Settings {
        Settings::mean(self.moments.iter().rev().take(4).map(|moment| &moment.settings))
    }

    /// Mean speed, m/min, at which the material travelled that was at `position` (m from the infeed)
    /// at `time`: what it experienced, whatever the band does now.
    pub(crate) fn speed_of_material(&self, position: f64, time: Timestamp) -> Option<f64> {
        let now = self.travelled_at(time)?;
        let entered = self.time_at(now - position)?;
        let minutes = (time - entered).as_seconds() / 60.0;
        (minutes > 0.0).then(|| position / minutes)
    }

    fn travelled_at(&self, time: Timestamp) -> Option<f64> {
        let after = self.moments.partition_point(|moment| moment.ends < time);
        let next = self.moments.get(after)?;
        let previous = self.moments.get(after.checked_sub(1)?)?;
        let share = (time - previous.ends).as_seconds() / (next.ends - previous.ends).as_seconds();
        Some(previous.travelled + share * (next.travelled - previous.travelled))
    }

    fn time_at(&self, travelled: f64) -> Option<Timestamp> {
        let after = self.moments.partition_point(|moment| moment.travelled < travelled);
        let next = self.moments.get(after)?;
        let previous = self.moments.get(after.checked_sub(1)?)?;
        let share = (travelled - previous.travelled) / (next.travelled - previous.travelled);
        Some(previous.ends + Span((share * (next.ends - previous.ends).0 as f64) as i64))
    }
}

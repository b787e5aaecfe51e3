//! Watches one line: windows in, alerts and the load out.

use std::sync::Arc;

use normal_profile::Normal;
use reading::{LineIndex, Plant, RunningState, Timestamp, Window};
use serde::{Deserialize, Serialize};

use crate::alert::Alert;
use crate::context::Context;
use crate::departure_watch::DepartureWatch;
use crate::judgement::Judgement;
use crate::limit_watch::LimitWatch;
use crate::rise_watch::RiseWatch;
use crate::sensor_watch::SensorWatch;
use crate::settings::DetectionSettings;
use crate::steam_watch::SteamWatch;

/// How loaded an oven is, for a stack light or a display.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LoadState {
    /// It bakes, and nothing speaks against it.
    Normal,
    /// The band runs faster and the zones have not yet said whether they follow.
    Rising,
    /// Moisture stays in the oven.
    Overloaded,
    /// It does not bake, or nothing is heard of it.
    Unknown,
}

/// The load of a line since a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Load {
    /// How loaded.
    pub state: LoadState,
    /// Since when.
    pub since: Timestamp,
}

/// What a window has changed.
#[derive(Debug, Clone, PartialEq)]
pub enum LineEvent {
    /// An alert was raised.
    Raised(Box<Alert>),
    /// An alert has ended.
    Ended(Box<Alert>),
    /// The load has changed.
    Load(Load),
}

/// Watches one line.
#[derive(Debug, Clone)]
pub struct LineWatch {
    context: Context,
    rise: RiseWatch,
    limit: LimitWatch,
    departure: DepartureWatch,
    steam: SteamWatch,
    sensors: SensorWatch,
    load: Load,
}

impl LineWatch {
    /// Begins with nothing known of the line.
    #[must_use]
    pub fn new(plant: Arc<Plant>, line: LineIndex, settings: DetectionSettings) -> Self {
        let context = Context { plant, line, settings };
        Self {
            rise: RiseWatch::new(&context),
            limit: LimitWatch::new(&context),
            departure: DepartureWatch::new(&context),
            steam: SteamWatch::new(&context),
            sensors: SensorWatch::default(),
            load: Load { state: LoadState::Unknown, since: Timestamp(0) },
            context,
        }
    }

    /// Takes the next window, with the normal of its product if one is approved.
    pub fn observe(&mut self, window: &Window, normal: Option<&Normal>) -> Vec<LineEvent> {
        let mut events = Vec::new();
        self.rise.follow(window);
        match window.state {
            RunningState::Baking => self.judge(window, normal, &mut events),
            RunningState::Gap => {}
            RunningState::Changeover | RunningState::Heating | RunningState::Stopped => {
                self.stand_down(window.ends, &mut events)
            }
        }
        events.extend(self.steam.observe(&self.context, window));
        events.extend(self.sensors.observe(&self.context, window));
        self.update_load(window, &mut events);
        events
    }

    /// Takes note that nothing is heard of the line any more.
    pub fn lose_sight(&mut self, now: Timestamp) -> Option<LineEvent> {
        self.set_load(LoadState::Unknown, now)
    }

    /// The load as it stands.
    #[must_use]
    pub fn load(&self) -> Load {
        self.load
    }

    /// The alerts that stand.
    pub fn standing(&self) -> impl Iterator<Item = &Alert> {
        let of_oven = [self.rise.standing(), self.limit.standing(), self.departure.standing()];
        of_oven.into_iter().flatten().chain(self.steam.standing()).chain(self.sensors.standing())
    }

    /// How the newest rise was judged, window by window.
    #[must_use]
    pub fn judgements(&self) -> &[Judgement] {
        self.rise.judgements()
    }

    /// One cause, one alert: what a rise explains is neither a limit passed nor a departure as well.
    fn judge(&mut self, window: &Window, normal: Option<&Normal>, events: &mut Vec<LineEvent>) {
        let context = &self.context;
        events.extend(self.rise.judge(context, window, normal));
        let unmatched = self.rise.standing().is_some();
        events.extend(self.limit.observe(context, window, unmatched));
        let explained = unmatched || self.rise.rise().is_some() || self.limit.standing().is_some();
        events.extend(self.departure.observe(context, window, normal, explained));
    }

    /// The oven no longer bakes what the alerts are about.
    fn stand_down(&mut self, now: Timestamp, events: &mut Vec<LineEvent>) {
        events.extend(self.rise.stand_down(now));
        events.extend(self.limit.stand_down(now));
        events.extend(self.departure.stand_down(now));
    }

    fn update_load(&mut self, window: &Window, events: &mut Vec<LineEvent>) {
        let state = match window.state {
            RunningState::Gap => return,
            RunningState::Changeover | RunningState::Heating | RunningState::Stopped => LoadState::Unknown,
            RunningState::Baking if self.standing().any(|alert| alert.finding.means_overload()) => {
                LoadState::Overloaded
            }
            RunningState::Baking if self.rise.rise().is_some() => LoadState::Rising,
            RunningState::Baking => LoadState::Normal,
        };
        events.extend(self.set_load(state, window.ends));
    }

    fn set_load(&mut self, state: LoadState, since: Timestamp) -> Option<LineEvent> {
        if state == self.load.state && self.load.since != Timestamp(0) {
            return None;
        }
        self.load = Load { state, since };
        Some(LineEvent::Load(self.load))
    }
}

#[cfg(test)]
mod tests;

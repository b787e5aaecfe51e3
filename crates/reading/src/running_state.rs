//! What a line is doing: only a line that bakes teaches or alarms.
//!
//! The oven's content is followed as material on the band. Whatever enters, fed or empty, travels
//! at band speed and counts until it has left the last zone: a gap of 90 s that entered at 14:00
//! is still in the oven half a bake time later, and must not look like drying out.

use std::collections::VecDeque;
use std::sync::Arc;

use physics::units::{Metre, MetrePerMinute};
use serde::Serialize;

use crate::time::Span;

/// What a line is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RunningState {
    /// The oven is full of one product and the band runs.
    Baking,
    /// A stretch of empty or disturbed band is in the oven.
    Gap,
    /// One product leaves the oven and another enters.
    Changeover,
    /// The band runs empty: the oven is being heated or cleared.
    Heating,
    /// The band stands still.
    Stopped,
}

/// A band slower than this stands still, m/min: an encoder at rest does not always say 0.
const STANDSTILL: f64 = 0.05;
/// A stop longer than this spoils what lies in the oven; a shorter one is a hiccup of the drive.
const HARMLESS_STOP: Span = Span::minutes(1);
/// Without a reading for longer than this nobody knows what lies in the oven.
const FORGET_AFTER: Span = Span::minutes(5);
/// Zones and their sensors need this long to settle once a gap has left, minutes of band travel.
const SETTLING_MIN: f64 = 2.0;

/// What a window says about the material that enters.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Infeed {
    /// Mean band speed.
    pub speed: Option<MetrePerMinute>,
    /// Code of the product that enters.
    pub product: Option<Arc<str>>,
    /// Lowest value of the feed signal, 0 or 1.
    pub feed: Option<f64>,
    /// Lowest divider rate, pieces/min.
    pub divider_rate: Option<f64>,
    /// Mean steam flow or valve opening, in whatever unit.
    pub steam: Option<f64>,
    /// Mean humidity ratio of zone 1.
    pub first_humidity: Option<f64>,
}

impl Infeed {
    /// Whether product enters, if a signal says so directly.
    #[must_use]
    pub fn is_fed(&self) -> Option<bool> {
        self.feed.map(|feed| feed > 0.5).or_else(|| self.divider_rate.map(|rate| rate > 0.0))
    }
}

/// A stretch of band with one content.
#[derive(Debug, Clone)]
struct Stretch {
    length: f64,
    /// `None` is empty or spoilt band.
    content: Option<Option<Arc<str>>>,
}

/// Follows the material of one line through its oven.
#[derive(Debug, Clone)]
pub struct RunningStateTracker {
    oven: Metre,
    /// From the infeed to the outfeed.
    band: VecDeque<Stretch>,
    stopped_for: Span,
    steam_level: Level,
    humidity_level: Level,
}

impl RunningStateTracker {
    /// Begins with an oven whose content is unknown, which counts as empty.
    #[must_use]
    pub fn new(oven: Metre) -> Self {
        Self {
            oven,
            band: VecDeque::from([Stretch { length: oven.0, content: None }]),
            stopped_for: Span::ZERO,
            steam_level: Level::default(),
            humidity_level: Level::default(),
        }
    }

    /// Moves the band on by one window and says what the line is doing at its end.
    pub fn advance(&mut self, lasted: Span, infeed: &Infeed) -> RunningState {
        let fed = self.is_fed(infeed);
        let speed = match infeed.speed {
            Some(MetrePerMinute(speed)) if speed >= STANDSTILL => speed,
            _ => {
                self.stopped_for = Span(self.stopped_for.0 + lasted.0);
                return RunningState::Stopped;
            }
        };
        if self.stopped_for > HARMLESS_STOP {
            self.spoil();
        }
        self.stopped_for = Span::ZERO;
        let content = fed.then(|| infeed.product.clone());
        self.move_band(speed * lasted.as_seconds() / 60.0, content, speed * SETTLING_MIN);
        self.state(infeed.product.as_ref())
    }

    /// Takes note of a time without any reading.
    pub fn miss(&mut self, lasted: Span) {
        if lasted > FORGET_AFTER {
            self.spoil();
        }
    }

    fn state(&self, entering: Option<&Arc<str>>) -> RunningState {
        let mut products = self.band.iter().filter_map(|stretch| stretch.content.as_ref());
        let Some(first) = products.next() else { return RunningState::Heating };
        if first.as_ref() != entering || products.any(|product| product != first) {
            RunningState::Changeover
        } else if self.band.iter().any(|stretch| stretch.content.is_none()) {
            RunningState::Gap
        } else {
            RunningState::Baking
        }
    }

    fn move_band(&mut self, distance: f64, content: Option<Option<Arc<str>>>, settling: f64) {
        match self.band.front_mut() {
            Some(front) if front.content == content => front.length += distance,
            _ => self.band.push_front(Stretch { length: distance, content }),
        }
        let mut surplus = self.band.iter().map(|stretch| stretch.length).sum::<f64>() - self.oven.0 - settling;
        while surplus > 0.0 {
            let Some(back) = self.band.back_mut() else { break };
            if back.length > surplus {
                back.length -= surplus;
                break;
            }
            surplus -= back.length;
            self.band.pop_back();
        }
    }

    fn spoil(&mut self) {
        let length = self.band.iter().map(|stretch| stretch.length).sum();
        self.band = VecDeque::from([Stretch { length, content: None }]);
    }

    /// Whether product enters, by the best signal there is.
    fn is_fed(&mut self, infeed: &Infeed) -> bool {
        if let Some(fed) = infeed.is_fed() {
            return fed;
        }
        if let Some(steam) = infeed.steam {
            return self.steam_level.is_near(steam);
        }
        infeed.first_humidity.is_none_or(|humidity| self.humidity_level.is_near(humidity))
    }
}

/// The usual level of a signal that falls away when no product enters.
#[derive(Debug, Clone, Copy, Default)]
struct Level(f64);

impl Level {
    /// Below this share of the usual level the signal has fallen away.
    const FALLEN: f64 = 0.6;
    /// How fast the level follows a signal that has not fallen away.
    const FOLLOW: f64 = 0.02;

    fn is_near(&mut self, value: f64) -> bool {
        let near = value > 0.0 && value >= self.0 * Self::FALLEN;
        if value > self.0 * 2.0 {
            self.0 = value;
        } else if near {
            self.0 += Self::FOLLOW * (value - self.0);
        } else {
            // Slowly, so that a plant that now runs on less steam is not taken for empty for ever.
            self.0 += Self::FOLLOW * 0.1 * (value - self.0);
        }
        near
    }
}

#[cfg(test)]
mod tests;

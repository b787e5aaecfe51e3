//! Finds the moment from which the band runs faster than it did.
//!
//! A step shows in minutes against the level of the ten minutes before; a creep shows only against
//! the level of most of an hour ago. Starts, stops, changeovers and gaps are no rises: only windows
//! of baking are compared.

use normal_profile::statistics::median;
use physics::units::MetrePerMinute;
use reading::{RunningState, Span, Timestamp, Window};

use crate::recent::{Moment, Recent, Settings};
use crate::settings::DetectionSettings;

/// Windows whose median is the present speed.
const PRESENT: usize = 3;
/// Windows whose median is the level before.
const LEVEL: usize = 20;
/// Fewer windows make no level.
const LEAST_LEVEL: usize = 6;
/// A rise is over when the speed has come back by this share of it.
const COME_BACK: f64 = 0.6;
/// The band has been slowed again when it has come back by this share: an answer as good as an open damper.
const SLOWED: f64 = 0.3;

/// The band runs faster than it did.
#[derive(Debug, Clone, PartialEq)]
pub struct Rise {
    /// The start of the first window that ran faster.
    pub began: Timestamp,
    /// The level before.
    pub before: MetrePerMinute,
    /// The present speed.
    pub after: MetrePerMinute,
    /// Every zone as it was before the rise: mean ln humidity ratio; `None` where nothing was measured.
    pub ln_humidity_before: Vec<Option<f64>>,
    /// What the crew had set before the rise.
    pub(crate) settings_before: Settings,
}

impl Rise {
    /// ln(after / before).
    #[must_use]
    pub fn ln_change(&self) -> f64 {
        (self.after.0 / self.before.0).ln()
    }
}

/// Follows the band speed of one line.
#[derive(Debug, Clone)]
pub struct RiseTracker {
    settings: DetectionSettings,
    pub(crate) recent: Recent,
    /// The fastest level since the rise began, ln m/min.
    fastest: f64,
    /// Levels are not looked for before this moment: an earlier rise or another product lies there.
    levels_from: Timestamp,
    rise: Option<Rise>,
}

impl RiseTracker {
    /// Begins with no memory.
    #[must_use]
    pub fn new(settings: DetectionSettings) -> Self {
        Self {
            settings,
            recent: Recent::default(),
            fastest: f64::NEG_INFINITY,
            levels_from: Timestamp(i64::MIN),
            rise: None,
        }
    }

    /// Takes the next window and says whether a rise is under way.
    pub fn observe(&mut self, window: &Window) -> Option<&Rise> {
        self.recent.push(window);
        match window.state {
            RunningState::Baking => self.observe_baking(),
            // What is in the oven comes from before the gap or the step: judge later.
            RunningState::Gap => {}
            RunningState::Changeover | RunningState::Heating | RunningState::Stopped => self.forget(window.ends),
        }
        self.rise.as_ref()
    }

    /// The rise under way.
    #[must_use]
    pub fn rise(&self) -> Option<&Rise> {
        self.rise.as_ref()
    }

    /// Ends the rise under way: the present speed is the level from now on.
    pub fn settle(&mut self, now: Timestamp) {
        if self.rise.take().is_some() {
            self.levels_from = now - Span::seconds(30 * PRESENT as i64);
        }
    }

    /// Whether the speed has come back most of the way.
    #[must_use]
    pub fn has_come_back(&self) -> bool {
        self.has_come_back_by(COME_BACK)
    }

    /// Whether the band has been slowed again, if only in part.
    #[must_use]
    pub fn has_slowed(&self) -> bool {
        self.has_come_back_by(SLOWED)
    }

    fn has_come_back_by(&self, share: f64) -> bool {
        let (Some(rise), Some(present)) = (&self.rise, self.present()) else { return false };
        let before = rise.before.0.ln();
        present < before + (1.0 - share) * (self.fastest - before)
    }

    fn forget(&mut self, now: Timestamp) {
        self.rise = None;
        self.levels_from = now;
    }

    fn observe_baking(&mut self) {
        let Some(present) = self.present() else { return };
        if let Some(rise) = &mut self.rise {
            rise.after = MetrePerMinute(present.exp());
            self.fastest = self.fastest.max(present);
            return;
        }
        let step = self.level(PRESENT, None).filter(|level| present - level >= self.settings.smallest_step);
        let level = step.or_else(|| {
            let newest = self.recent.newest_first().next()?;
            let until = newest.ends - self.settings.creep_over;
            self.level(0, Some(until)).filter(|level| present - level >= self.settings.smallest_creep)
        });
        if let Some(level) = level {
            self.open(level, present);
        }
    }

    fn open(&mut self, level: f64, present: f64) {
        let middle = level.midpoint(present);
        let faster = |ln_speed: Option<f64>| ln_speed.is_none_or(|speed| speed > middle);
        let first = self
            .recent
            .newest_first()
            .take_while(|moment| moment.ends > self.levels_from && faster(moment.ln_speed))
            .last();
        let Some(began) = first.map(|moment| moment.starts) else { return };
        self.fastest = present;
        self.rise = Some(Rise {
            began,
            before: MetrePerMinute(level.exp()),
            after: MetrePerMinute(present.exp()),
            ln_humidity_before: self.humidity_before(began),
            settings_before: Settings::mean(self.windows_before(began).iter().map(|moment| &moment.settings)),
        });
    }

    /// The median ln speed of the newest windows of baking.
    fn present(&self) -> Option<f64> {
        let newest = self.recent.newest_first().filter(|moment| moment.baking);
        let speeds: Vec<f64> = newest.take(PRESENT).filter_map(|moment| moment.ln_speed).collect();
        (speeds.len() == PRESENT).then(|| median(&speeds))
    }

    /// The median ln speed of the windows of baking before the newest `skip`, and before `until`.
    fn level(&self, skip: usize, until: Option<Timestamp>) -> Option<f64> {
        let speeds: Vec<f64> = self
            .recent
            .newest_first()
            .filter(|moment| moment.baking)
            .skip(skip)
            .take_while(|moment| moment.starts >= self.levels_from)
            .filter(|moment| until.is_none_or(|until| moment.ends <= until))
            .filter_map(|moment| moment.ln_speed)
            .take(LEVEL)
            .collect();
        (speeds.len() >= LEAST_LEVEL).then(|| median(&speeds))
    }

    /// Every zone's mean ln humidity over the windows of baking before the rise.
    fn humidity_before(&self, began: Timestamp) -> Vec<Option<f64>> {
        let windows = self.windows_before(began);
        let zones = windows.first().map_or(0, |moment| moment.ln_humidity.len());
        let mean = |zone: usize| {
            let values: Vec<f64> = windows.iter().filter_map(|moment| moment.ln_humidity[zone]).collect();
            (values.len() >= LEAST_LEVEL.min(windows.len())).then(|| values.iter().sum::<f64>() / values.len() as f64)
        };
        (0..zones).map(mean).collect()
    }

    /// The windows of baking before a moment that make a level.
    fn windows_before(&self, began: Timestamp) -> Vec<&Moment> {
        let windows = self.recent.newest_first();
        windows
            .filter(|moment| moment.baking && moment.ends <= began && moment.starts >= self.levels_from)
            .take(LEVEL)
            .collect()
    }
}

#[cfg(test)]
mod tests;

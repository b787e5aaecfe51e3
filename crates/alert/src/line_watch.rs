//! Watches one line: windows in, alerts and the load out.

use std::sync::Arc;

use normal_profile::Normal;
use physics::air;
use reading::{LineIndex, Plant, RunningState, Span, Timestamp, Window};
use serde::{Deserialize, Serialize};

use crate::advice;
use crate::alert::{Alert, AlertState, Kind, Priority, SpeedChange, ZoneFigures};
use crate::evidence::{Evidence, weigh};
use crate::finding::Finding;
use crate::identity::alert_id;
use crate::judgement::{Judgement, Trace};
use crate::lifecycle::{Lifecycle, Step};
use crate::message;
use crate::rise::{Rise, RiseTracker};
use crate::settings::DetectionSettings;

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

/// A rise that has reached every zone and given no reason for an alert for this long was met.
const MET_AFTER: Span = Span::minutes(10);
/// The band that holds 95 of 100 rises, in standard deviations.
const BAND: f64 = 1.96;
/// A limit is no longer passed when the moisture has fallen below it by this share.
const LIMIT_DEADBAND: f64 = 0.03;
/// While an alert stands, evidence counts as gone only below this many standard deviations.
const STANDING_Z: f64 = 1.5;

/// Watches one line.
#[derive(Debug, Clone)]
pub struct LineWatch {
    plant: Arc<Plant>,
    line: LineIndex,
    settings: DetectionSettings,
    tracker: RiseTracker,
    trace: Trace,
    rise_life: Lifecycle,
    rise_alert: Option<Alert>,
    complete_since: Option<Timestamp>,
    limit_life: Lifecycle,
    limit_alert: Option<Alert>,
    load: Load,
}

impl LineWatch {
    /// Begins with nothing known of the line.
    #[must_use]
    pub fn new(plant: Arc<Plant>, line: LineIndex, settings: DetectionSettings) -> Self {
        let life = || Lifecycle::new(settings.on_delay, settings.off_delay);
        Self {
            plant,
            line,
            settings,
            tracker: RiseTracker::new(settings),
            trace: Trace::default(),
            rise_life: life(),
            rise_alert: None,
            complete_since: None,
            limit_life: life(),
            limit_alert: None,
            load: Load { state: LoadState::Unknown, since: Timestamp(0) },
        }
    }

    /// Takes the next window, with the normal of its product if one is approved.
    pub fn observe(&mut self, window: &Window, normal: Option<&Normal>) -> Vec<LineEvent> {
        let mut events = Vec::new();
        self.tracker.observe(window);
        match window.state {
            RunningState::Baking => {
                self.judge_rise(window, normal, &mut events);
                self.judge_limit(window, &mut events);
            }
            RunningState::Gap => {}
            RunningState::Changeover | RunningState::Heating | RunningState::Stopped => {
                self.stand_down(window.ends, &mut events)
            }
        }
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
        self.rise_alert.iter().chain(&self.limit_alert)
    }

    /// How the newest rise was judged, window by window.
    #[must_use]
    pub fn judgements(&self) -> &[Judgement] {
        self.trace.judgements()
    }

    fn judge_rise(&mut self, window: &Window, normal: Option<&Normal>, events: &mut Vec<LineEvent>) {
        let Some(rise) = self.tracker.rise() else { return };
        let line = &self.plant.lines[self.line.0];
        let Some(evidence) = weigh(rise, &self.tracker.recent, line, normal, &self.settings) else { return };
        let found = Finding::of(&evidence, &self.settings);
        let (rise, seen) = (rise.clone(), evidence.clone());
        self.trace.note(Judgement { at: window.ends, rise, evidence: seen, finding: found });
        let condition = match &self.rise_alert {
            Some(alert) => still_departs(alert.finding, &evidence),
            None => found.is_some(),
        };
        match self.rise_life.observe(condition, window.starts, window.ends) {
            Step::Raise => {
                // The finding is there: without an alert it is what the condition is made of.
                if let Some(finding) = found {
                    let alert = self.rise_alert(finding, &evidence, window, normal);
                    self.rise_alert = alert.clone();
                    events.extend(alert.map(|alert| LineEvent::Raised(Box::new(alert))));
                }
            }
            Step::End => {
                events.extend(end(&mut self.rise_alert, window.ends));
                self.settle(window.ends);
                return;
            }
            Step::Stay => {}
        }
        self.settle_if_met(&evidence, condition, window.ends);
    }

    /// Lets go of a rise that gave no reason for an alert.
    fn settle_if_met(&mut self, evidence: &Evidence, condition: bool, now: Timestamp) {
        if self.rise_alert.is_some() {
            return;
        }
        if condition || !evidence.complete {
            self.complete_since = None;
        } else {
            self.complete_since.get_or_insert(now);
        }
        let met = self.complete_since.is_some_and(|since| now - since >= MET_AFTER);
        if met || self.tracker.has_come_back() {
            self.settle(now);
        }
    }

    fn settle(&mut self, now: Timestamp) {
        self.tracker.settle(now);
        self.complete_since = None;
    }

    fn rise_alert(
        &self,
        finding: Finding,
        evidence: &Evidence,
        window: &Window,
        normal: Option<&Normal>,
    ) -> Option<Alert> {
        let rise = self.tracker.rise()?;
        let mut alert = self.alert(Kind::UnmatchedSpeedRise, finding, rise.began, window);
        alert.priority = if finding == Finding::Carryover { Priority::High } else { Priority::Medium };
        alert.speed = Some(speed_change(rise));
        alert.zones = evidence.zones.iter().map(zone_figures).collect();
        alert.confidence = Some(1.0 - evidence.tail);
        alert.normal = normal.map(|normal| normal.key().to_string());
        alert.message = message::of_rise(finding, rise, evidence, normal, &self.plant.shifts);
        alert.advice = advice::for_rise(finding, rise, evidence, window);
        Some(alert)
    }

    /// The hard limit of zone 3: the trade's rule, which needs no normal. One cause, one alert: where
    /// an overload stands already, the limit adds nothing.
    fn judge_limit(&mut self, window: &Window, events: &mut Vec<LineEvent>) {
        let Some((code, limit)) = self.limit(window) else { return };
        let humidity = window.zones.get(2).and_then(|zone| zone.humidity);
        let Some(moisture) = humidity.and_then(|ratio| air::moisture_from_humidity_ratio(ratio).ok()) else { return };
        let percent = moisture.0 * 100.0;
        let threshold = if self.limit_alert.is_some() { limit * (1.0 - LIMIT_DEADBAND) } else { limit };
        let condition = percent > threshold && (self.limit_alert.is_some() || self.rise_alert.is_none());
        match self.limit_life.observe(condition, window.starts, window.ends) {
            Step::Raise => {
                let mut alert = self.alert(Kind::Zone3Limit, Finding::Zone3Limit, window.starts, window);
                alert.message = message::of_limit(percent, limit, &code, window, &self.plant.shifts);
                alert.advice = advice::for_limit(window);
                alert.zones = vec![ZoneFigures {
                    zone: 3,
                    before: None,
                    observed: percent,
                    expected: limit,
                    low: None,
                    high: None,
                    unit: "% vol".into(),
                    z: None,
                }];
                self.limit_alert = Some(alert.clone());
                events.push(LineEvent::Raised(Box::new(alert)));
            }
            Step::End => events.extend(end(&mut self.limit_alert, window.ends)),
            Step::Stay => {}
        }
    }

    fn limit(&self, window: &Window) -> Option<(Arc<str>, f64)> {
        let product = self.plant.product(window.product.as_deref()?)?;
        Some((product.code.clone(), product.max_zone3_moisture_pct?))
    }

    /// An alert with what every kind has.
    fn alert(&self, kind: Kind, finding: Finding, began: Timestamp, window: &Window) -> Alert {
        let line = &self.plant.lines[self.line.0];
        Alert {
            id: alert_id(&self.plant.site, &line.id, kind, began, window.ends),
            site: self.plant.site.clone(),
            line: line.id.clone(),
            kind,
            finding,
            priority: Priority::High,
            state: AlertState::Unacknowledged,
            product: window.product.clone(),
            began,
            raised: window.ends,
            ended: None,
            speed: None,
            zones: Vec::new(),
            confidence: None,
            normal: None,
            message: String::new(),
            advice: Vec::new(),
            caution: advice::CAUTION.into(),
        }
    }

    /// The oven no longer bakes what the alerts are about.
    fn stand_down(&mut self, now: Timestamp, events: &mut Vec<LineEvent>) {
        self.rise_life.clear();
        self.limit_life.clear();
        self.complete_since = None;
        events.extend(end(&mut self.rise_alert, now));
        events.extend(end(&mut self.limit_alert, now));
    }

    fn update_load(&mut self, window: &Window, events: &mut Vec<LineEvent>) {
        let overload = |alert: &Alert| matches!(alert.finding, Finding::Carryover | Finding::Zone3Limit);
        let state = match window.state {
            RunningState::Gap => return,
            RunningState::Changeover | RunningState::Heating | RunningState::Stopped => LoadState::Unknown,
            RunningState::Baking if self.standing().any(overload) => LoadState::Overloaded,
            RunningState::Baking if self.tracker.rise().is_some() => LoadState::Rising,
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

/// Whether the zones that made an alert's finding still depart.
fn still_departs(finding: Finding, evidence: &Evidence) -> bool {
    message::telling_zone(finding, evidence).is_some_and(|zone| match finding {
        Finding::Carryover | Finding::Zone3Limit => zone.z() >= STANDING_Z,
        Finding::SteamShort | Finding::OverVented => zone.z() <= -STANDING_Z,
    })
}

fn end(standing: &mut Option<Alert>, now: Timestamp) -> Option<LineEvent> {
    let mut alert = standing.take()?;
    alert.end(now);
    Some(LineEvent::Ended(Box::new(alert)))
}

fn speed_change(rise: &Rise) -> SpeedChange {
    SpeedChange {
        before: rise.before.0,
        after: rise.after.0,
        rise_pct: (rise.ln_change().exp() - 1.0) * 100.0,
        unit: "m/min".into(),
    }
}

fn zone_figures(zone: &crate::evidence::ZoneEvidence) -> ZoneFigures {
    ZoneFigures {
        zone: zone.zone,
        before: Some(message::moisture_pct(zone.before)),
        observed: message::moisture_pct(zone.observed),
        expected: message::moisture_pct(zone.expected),
        low: Some(message::moisture_pct(zone.expected - BAND * zone.sd)),
        high: Some(message::moisture_pct(zone.expected + BAND * zone.sd)),
        unit: "% vol".into(),
        z: zone.reached.then(|| zone.z()),
    }
}

#[cfg(test)]
mod tests;

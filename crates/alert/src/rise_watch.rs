//! Watches the rises of the band speed: from a rise to the alert that nobody met it.

use normal_profile::Normal;
use reading::{Span, Timestamp, Window};

use crate::advice;
use crate::alert::{Alert, Kind, Priority, SpeedChange, ZoneFigures};
use crate::arrival::Arrival;
use crate::context::Context;
use crate::evidence::{Evidence, weigh};
use crate::finding::{Finding, LEAST_SHARE};
use crate::judgement::{Judgement, Trace};
use crate::line_watch::LineEvent;
use crate::message;
use crate::practice::Practice;
use crate::rise::{Rise, RiseTracker};
use crate::standing::Standing;

/// A rise that has reached every zone this long ago and given no reason for an alert was met. What the
/// zones do later has other causes.
const MET_AFTER: Span = Span::minutes(15);
/// While an alert stands, its evidence counts as gone only below this share of what raises it.
const DEADBAND: f64 = 0.5;

/// Watches the rises of one line.
#[derive(Debug, Clone)]
pub(crate) struct RiseWatch {
    tracker: RiseTracker,
    trace: Trace,
    standing: Standing,
    arrival: Arrival,
}

impl RiseWatch {
    pub(crate) fn new(context: &Context) -> Self {
        Self {
            tracker: RiseTracker::new(context.settings),
            trace: Trace::default(),
            standing: Standing::new(context.settings.rise_delays),
            arrival: Arrival::default(),
        }
    }

    pub(crate) fn standing(&self) -> Option<&Alert> {
        self.standing.alert()
    }

    /// The rise under way.
    pub(crate) fn rise(&self) -> Option<&Rise> {
        self.tracker.rise()
    }

    /// How the newest rise was judged, window by window.
    pub(crate) fn judgements(&self) -> &[Judgement] {
        self.trace.judgements()
    }

    /// Takes a window in whatever state: the tracker must know how far the band has travelled.
    pub(crate) fn follow(&mut self, window: &Window) {
        self.tracker.observe(window);
    }

    /// Judges the rise under way at the end of a window of baking.
    pub(crate) fn judge(&mut self, context: &Context, window: &Window, normal: Option<&Normal>) -> Option<LineEvent> {
        let rise = self.tracker.rise()?.clone();
        let line = context.line();
        let is_settled = self.arrival.is_settled(window.ends);
        let practice = Practice::of(&rise, line.zones.len(), normal, is_settled, &context.plant.shifts, window.ends);
        let drift = normal.map(|normal| &normal.record().drift);
        let evidence = weigh(&rise, &self.tracker.recent, line, &practice, drift, &context.settings)?;
        let found = Finding::of(&evidence, &context.settings);
        let condition = match self.standing.alert() {
            Some(alert) => !self.tracker.has_come_back() && still_departs(alert.finding, &evidence, context),
            None => found.is_some(),
        };
        let event = self
            .standing
            .observe(condition, window, |_| Some(alert(context, found?, &rise, &evidence, window, normal)));
        if matches!(event, Some(LineEvent::Ended(_))) {
            self.settle(window.ends);
        } else {
            self.settle_if_met(&evidence, condition, window.ends);
        }
        self.trace.note(Judgement { at: window.ends, rise, evidence, finding: found });
        event
    }

    pub(crate) fn stand_down(&mut self, now: Timestamp) -> Option<LineEvent> {
        self.arrival = Arrival::default();
        self.standing.clear(now)
    }

    /// Lets go of a rise that gave no reason for an alert.
    fn settle_if_met(&mut self, evidence: &Evidence, condition: bool, now: Timestamp) {
        self.arrival.note(evidence, now);
        if self.standing.stands() {
            return;
        }
        let met = !condition && self.arrival.lies_back(MET_AFTER, now);
        if met || self.tracker.has_slowed() {
            self.settle(now);
        }
    }

    fn settle(&mut self, now: Timestamp) {
        self.tracker.settle(now);
        self.arrival = Arrival::default();
    }
}

/// Whether what made an alert's finding is still there.
fn still_departs(finding: Finding, evidence: &Evidence, context: &Context) -> bool {
    match finding {
        Finding::SteamShort | Finding::OverVented => message::telling_zone(finding, evidence)
            .is_some_and(|zone| zone.excess() <= -DEADBAND * context.settings.least_excess),
        Finding::NoResponse => evidence.unmoved.is_some(),
        _ => evidence.unanswered.is_some_and(|it| it.share >= DEADBAND * LEAST_SHARE),
    }
}

fn alert(
    context: &Context,
    finding: Finding,
    rise: &Rise,
    evidence: &Evidence,
    window: &Window,
    normal: Option<&Normal>,
) -> Alert {
    let mut alert = context.alert(Kind::UnmatchedSpeedRise, finding, "", rise.began, window);
    alert.priority = if finding == Finding::Carryover { Priority::High } else { Priority::Medium };
    alert.speed = Some(speed_change(rise));
    alert.zones = evidence.zones.iter().map(ZoneFigures::of_rise).collect();
    alert.confidence = Some(1.0 - evidence.chance_of(finding));
    alert.normal = normal.map(|normal| normal.key().to_string());
    alert.message = message::of_rise(finding, rise, evidence, normal, &context.plant.shifts);
    alert.advice = advice::for_rise(finding, rise, evidence, window);
    alert
}

fn speed_change(rise: &Rise) -> SpeedChange {
    SpeedChange {
        before: rise.before.0,
        after: rise.after.0,
        rise_pct: (rise.ln_change().exp() - 1.0) * 100.0,
        unit: "m/min".into(),
    }
}

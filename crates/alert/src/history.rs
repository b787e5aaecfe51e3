//! What history teaches: the windows of baking, and what practice made of the rises among them.

use std::sync::Arc;

use normal_profile::{Observation, RiseChange};
use reading::{Line, RunningState, Span, Window};

use crate::evidence::weigh;
use crate::rise::RiseTracker;
use crate::settings::DetectionSettings;

/// A break longer than this begins another run.
const RUN_BREAK: Span = Span::minutes(5);

/// The windows in which a product was baked, numbered by run.
#[must_use]
pub fn observations(windows: &[Window], product: &Option<Arc<str>>) -> Vec<Observation> {
    let mut observations: Vec<Observation> = Vec::new();
    let mut run = 0;
    let mut last_end = None;
    for window in windows.iter().filter(|window| window.state == RunningState::Baking && window.product == *product) {
        if window.band_speed.is_none() {
            continue;
        }
        if last_end.is_some_and(|end| window.starts - end > RUN_BREAK) {
            run += 1;
        }
        last_end = Some(window.ends);
        observations.extend(observation(window, run));
    }
    observations
}

/// A window as the normal sees it; `None` without a band speed.
pub(crate) fn observation(window: &Window, run: u32) -> Option<Observation> {
    let unknown = f64::NAN;
    Some(Observation {
        time_us: window.starts.0,
        run,
        speed: window.band_speed?,
        ln_humidity: window.zones.iter().map(|zone| zone.humidity.map_or(unknown, |w| w.0.ln())).collect(),
        temperature: window.zones.iter().map(|zone| zone.air_temperature.map_or(unknown, |t| t.0)).collect(),
    })
}

/// The rises while a product was baked, each with the change of every zone at the moment at which
/// the rise had reached it: the moment at which a new rise will be judged.
#[must_use]
pub fn rises(
    windows: &[Window],
    product: &Option<Arc<str>>,
    line: &Line,
    settings: &DetectionSettings,
) -> Vec<RiseChange> {
    let mut tracker = RiseTracker::new(*settings);
    let mut changes: Vec<Option<f64>> = Vec::new();
    let mut rises = Vec::new();
    for window in windows {
        let Some(rise) = tracker.observe(window).cloned() else {
            changes.clear();
            continue;
        };
        if window.state != RunningState::Baking || window.product != *product {
            continue;
        }
        let Some(evidence) = weigh(&rise, &tracker.recent, line, None, settings) else { continue };
        changes.resize(line.zones.len(), None);
        for zone in evidence.reached() {
            changes[zone.zone - 1].get_or_insert(zone.observed - zone.before);
        }
        if evidence.complete {
            let ln_humidity_change = changes.iter().map(|change| change.unwrap_or(f64::NAN)).collect();
            rises.push(RiseChange { began_us: rise.began.0, ln_speed_change: rise.ln_change(), ln_humidity_change });
        }
        if evidence.complete || tracker.has_come_back() {
            tracker.settle(window.ends);
            changes.clear();
        }
    }
    rises
}

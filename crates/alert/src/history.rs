//! What history teaches: the windows of baking, and what practice made of the rises among them.

use std::sync::Arc;

use normal_profile::{Observation, RiseChange};
use reading::{Line, RunningState, Span, Window};

use crate::arrival::Arrival;
use crate::evidence::weigh;
use crate::practice::Practice;
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
    let unjudged = Practice::unknown(line.zones.len());
    let mut tracker = RiseTracker::new(*settings);
    let mut changes: Vec<Option<f64>> = Vec::new();
    let mut arrival = Arrival::default();
    let mut rises = Vec::new();
    for window in windows {
        let Some(rise) = tracker.observe(window).cloned() else {
            changes.clear();
            arrival = Arrival::default();
            continue;
        };
        if window.state != RunningState::Baking || window.product != *product {
            continue;
        }
        let Some(evidence) = weigh(&rise, &tracker.recent, line, &unjudged, None, settings) else { continue };
        changes.resize(line.zones.len(), None);
        for zone in evidence.reached() {
            changes[zone.zone - 1].get_or_insert(zone.observed - zone.before);
        }
        if arrival.note(&evidence, window.ends) {
            let ln_humidity_change = changes.iter().map(|change| change.unwrap_or(f64::NAN)).collect();
            let settled_ln_humidity_change = vec![f64::NAN; line.zones.len()];
            let (began_us, ln_speed_change) = (rise.began.0, rise.ln_change());
            rises.push(RiseChange { began_us, ln_speed_change, ln_humidity_change, settled_ln_humidity_change });
        }
        let settled = arrival.is_settled(window.ends);
        if settled && let Some(last) = rises.last_mut().filter(|last| last.began_us == rise.began.0) {
            for zone in &evidence.zones {
                last.settled_ln_humidity_change[zone.zone - 1] = zone.observed - zone.before;
            }
        }
        if settled || tracker.has_slowed() {
            tracker.settle(window.ends);
            changes.clear();
            arrival = Arrival::default();
        }
    }
    rises
}

//! How each zone's humidity answers a change of speed, as this oven is run.

use serde::{Deserialize, Serialize};

use crate::response::{LaggedResponse, Stretch, lagged_response};
use crate::screening::UsableWindow;

/// An answer is looked for up to this long after the change, s: the slowest bake.
const LONGEST_DELAY_S: f64 = 1800.0;

/// How a zone's humidity first answers a change of speed. This is practice: what the crew does about
/// the change is part of it. A damper that is opened ahead of the load shows as an early answer
/// downwards, and what the load makes of it later is told by the rises.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ZoneResponse {
    /// From the change until the answer begins, s.
    pub delay_s: f64,
    /// From the change until the answer has come, on average over its parts, s.
    pub lag_s: f64,
    /// Change of ln humidity that it comes to, per change of ln speed: about 1 if nobody opens anything.
    pub gain: f64,
    /// Its standard error.
    pub gain_error: f64,
    /// Whether the answer is more than chance.
    pub is_clear: bool,
}

/// One per zone; none where the speed hardly ever changed.
pub(crate) fn zone_responses(windows: &[UsableWindow], zones: usize, window_s: f64) -> Vec<Option<ZoneResponse>> {
    let most_delay = (LONGEST_DELAY_S / window_s) as usize;
    let response = |zone: usize| lagged_response(&stretches(windows, zone, window_s), most_delay);
    (0..zones).map(|zone| response(zone).map(|found| ZoneResponse::of(&found, window_s))).collect()
}

/// ln speed and a zone's ln humidity, in stretches without a missing window.
fn stretches(windows: &[UsableWindow], zone: usize, window_s: f64) -> Vec<Stretch> {
    let follows = |left: &UsableWindow, right: &UsableWindow| {
        left.run == right.run && (right.time_us - left.time_us) as f64 <= 1.5e6 * window_s
    };
    let column = |stretch: &[UsableWindow], column: usize| stretch.iter().map(|window| window.vector[column]).collect();
    let stretch = |stretch: &[UsableWindow]| {
        let ln_speed = stretch[0].vector.len() - 1;
        Stretch { input: column(stretch, ln_speed), output: column(stretch, zone) }
    };
    windows.chunk_by(follows).map(stretch).collect()
}

impl ZoneResponse {
    fn of(found: &LaggedResponse, window_s: f64) -> Self {
        Self {
            delay_s: found.delay as f64 * window_s,
            lag_s: found.mean_lag() * window_s,
            gain: found.gain,
            gain_error: found.gain_error,
            is_clear: found.is_clear(),
        }
    }
}

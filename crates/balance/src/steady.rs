//! The stretches of history in which an oven was at rest, so that a balance at rest may be held against them.

use reading::{Quantity, RunningState, Span, Window};
use serde::Serialize;

/// Band speeds within this share of each other count as one.
const SAME_SPEED: f64 = 0.015;
/// After the oven's whole content has come in at one speed, zones and probes still take this long.
const SETTLING: Span = Span::minutes(4);
/// Dampers and steam must have stood for as long, within these: shares of the full opening, and of the flow.
const DAMPERS_STOOD: Span = Span::minutes(6);
const SAME_OPENING: f64 = 0.02;
const SAME_STEAM: f64 = 0.08;
/// Windows are averaged over this long, and fewer than this many are not used.
const BLOCK: Span = Span::minutes(10);
const FEWEST_WINDOWS: usize = 6;
/// A break longer than this begins another run.
const RUN_BREAK: Span = Span::minutes(5);

/// Some minutes in which the oven was at rest: means of its windows; NaN where a signal is missing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SteadyBlock {
    /// When it begins, UTC microseconds since 1970.
    pub time_us: i64,
    /// The uninterrupted stretch of baking that it belongs to.
    pub run: u32,
    /// How long it is, min.
    pub minutes: f64,
    /// Band speed, m/min.
    pub speed_m_min: f64,
    /// Natural logarithm of the humidity ratio, kg/kg, one a zone.
    pub ln_humidity: Vec<f64>,
    /// Air temperature, °C, one a zone.
    pub temperature_c: Vec<f64>,
    /// Damper opening, 0 to 1, one a zone.
    pub opening: Vec<f64>,
    /// Steam, kg/h.
    pub steam_kg_h: f64,
    /// Humidity of the air that the oven draws in, kg/kg.
    pub ambient_humidity: f64,
}

/// The steady blocks of a product in windows in order of time, in an oven of this length (m).
#[must_use]
pub fn steady_blocks(windows: &[Window], product: &str, length_m: f64) -> Vec<SteadyBlock> {
    let mut blocks = Vec::new();
    let mut run = 0;
    let mut last_end = None;
    let mut at = 0;
    while at < windows.len() {
        let window = &windows[at];
        if !bakes(window, product) {
            at += 1;
            continue;
        }
        if last_end.is_some_and(|end| window.starts - end > RUN_BREAK) {
            run += 1;
        }
        let block_end = window.starts + BLOCK;
        let begun = at;
        while windows
            .get(at)
            .is_some_and(|window| window.ends <= block_end && is_steady(windows, at, product, length_m))
        {
            at += 1;
        }
        if at - begun >= FEWEST_WINDOWS {
            blocks.push(SteadyBlock::of(&windows[begun..at], run));
        }
        at = at.max(begun + 1);
        last_end = Some(windows[at - 1].ends);
    }
    blocks
}

fn bakes(window: &Window, product: &str) -> bool {
    window.state == RunningState::Baking
        && window.product.as_deref() == Some(product)
        && window.band_speed.is_some_and(|speed| speed.0 > 0.0)
        && !window.troubles.iter().any(|trouble| counts(trouble.quantity))
}

/// Whether the balance is learned from it. One that is silent among the others takes no hour away.
fn counts(quantity: Quantity) -> bool {
    let of_line = [Quantity::BandSpeed, Quantity::BakeTime, Quantity::Feed, Quantity::SteamFlow];
    let of_zone = [Quantity::AirTemperature, Quantity::ExhaustDamper];
    quantity.is_humidity() || of_line.contains(&quantity) || of_zone.contains(&quantity)
}

/// Whether all that lies in the oven came in at the speed of this window, and its settings have stood.
fn is_steady(windows: &[Window], at: usize, product: &str, length_m: f64) -> bool {
    let now = &windows[at];
    let Some(speed) = now.band_speed else { return false };
    let filled = Span((length_m / speed.0 * 60e6) as i64);
    let since = now.starts - filled - SETTLING;
    let mut reached = now.starts;
    for window in windows[..=at].iter().rev() {
        let same_speed = window.band_speed.is_some_and(|other| (other.0 / speed.0 - 1.0).abs() <= SAME_SPEED);
        // A hole in time hides what came in.
        if !bakes(window, product) || !same_speed || reached - window.ends > Span::seconds(90) {
            return false;
        }
        if now.starts - window.starts <= DAMPERS_STOOD && !same_settings(window, now) {
            return false;
        }
        reached = window.starts;
        if window.starts <= since {
            return true;
        }
    }
    false
}

fn same_settings(one: &Window, other: &Window) -> bool {
    let dampers = one.zones.iter().zip(&other.zones).all(|(one, other)| {
        one.exhaust_damper.zip(other.exhaust_damper).is_none_or(|(a, b)| (a - b).abs() <= 100.0 * SAME_OPENING)
    });
    let steam = one.steam_flow.zip(other.steam_flow);
    dampers && steam.is_none_or(|(a, b)| (a - b).abs() <= SAME_STEAM * a.abs().max(b.abs()))
}

impl SteadyBlock {
    /// The means of windows of which there is one at least.
    pub(crate) fn of(windows: &[Window], run: u32) -> Self {
        let zones = windows[0].zones.len();
        let of = |value: &dyn Fn(&Window) -> Option<f64>| {
            let known: Vec<f64> = windows.iter().filter_map(value).collect();
            // Half of the windows at least, or the mean may be of another time.
            if 2 * known.len() < windows.len() { f64::NAN } else { known.iter().sum::<f64>() / known.len() as f64 }
        };
        let of_zones = |value: &dyn Fn(&reading::ZoneWindow) -> Option<f64>| {
            (0..zones).map(|zone| of(&|window| window.zones.get(zone).and_then(value))).collect()
        };
        let (first, last) = (&windows[0], &windows[windows.len() - 1]);
        Self {
            time_us: first.starts.0,
            run,
            minutes: (last.ends - first.starts).as_seconds() / 60.0,
            speed_m_min: of(&|window| window.band_speed.map(|speed| speed.0)),
            ln_humidity: of_zones(&|zone| zone.humidity.filter(|w| w.0 > 0.0).map(|w| w.0.ln())),
            temperature_c: of_zones(&|zone| zone.air_temperature.map(|t| t.0)),
            opening: of_zones(&|zone| zone.exhaust_damper.map(|percent| percent / 100.0)),
            steam_kg_h: of(&|window| window.steam_flow),
            ambient_humidity: of(&|window| window.ambient_humidity.map(|w| w.0)),
        }
    }
}

#[cfg(test)]
mod tests;

//! Watches for steam that does nothing: with no product under it, or for longer than a limit.
//!
//! Steam longer than about 10 s under the injectors is waste (common practice): the oven has to bake
//! that water off again. How long a product needs is the plant's to say, so without a limit in the
//! config only steam without product is told.

use reading::{RunningState, Timestamp, Window};

use crate::advice;
use crate::alert::{Alert, Kind, Priority};
use crate::context::Context;
use crate::finding::Finding;
use crate::following::{OVER_AN_HOUR, follow};
use crate::line_watch::LineEvent;
use crate::message;
use crate::standing::Standing;

/// Less than this share of the usual steam is a valve that leaks a little, not steam.
const STEAMING: f64 = 0.25;
/// The limit is no longer passed when the time under steam has fallen below it by this share.
const DEADBAND: f64 = 0.03;

/// Watches the steam of one line.
#[derive(Debug, Clone)]
pub(crate) struct SteamWatch {
    /// The steam that product gets, in the unit of the signal.
    usual: Option<f64>,
    without_product: Standing,
    too_long: Standing,
}

impl SteamWatch {
    pub(crate) fn new(context: &Context) -> Self {
        let standing = || Standing::new(context.settings.steam_delays);
        Self { usual: None, without_product: standing(), too_long: standing() }
    }

    pub(crate) fn standing(&self) -> impl Iterator<Item = &Alert> {
        self.without_product.alert().into_iter().chain(self.too_long.alert())
    }

    /// Takes a window in whatever state.
    pub(crate) fn observe(&mut self, context: &Context, window: &Window) -> Vec<LineEvent> {
        let Some(steam) = window.steam() else { return Vec::new() };
        let is_fed = window.fed.unwrap_or(window.state == RunningState::Baking);
        let stands = window.state == RunningState::Stopped;
        if is_fed && window.state == RunningState::Baking {
            follow(&mut self.usual, Some(steam), OVER_AN_HOUR);
        }
        let Some(usual) = self.usual else { return Vec::new() };
        let steaming = steam > STEAMING * usual && steam > 0.0;
        // Only a signal that product enters can say that none does.
        let empty = window.fed == Some(false) || stands;
        let without = self.without_product.observe(steaming && empty, window, |since| {
            let mut alert = self::alert(context, Finding::SteamWithoutProduct, since, window);
            alert.message = message::of_steam_without_product(steam, window, since, &context.plant.shifts);
            Some(alert)
        });
        let under_steam = seconds_under_steam(context, window).filter(|_| steaming && is_fed && !stands);
        let limit = context.settings.steam_limit.map(|limit| limit.as_seconds());
        let too_long = limit.and_then(|limit| {
            let threshold = if self.too_long.stands() { limit * (1.0 - DEADBAND) } else { limit };
            let condition = under_steam.is_some_and(|seconds| seconds > threshold);
            self.too_long.observe(condition, window, |since| {
                let mut alert = self::alert(context, Finding::SteamTooLong, since, window);
                alert.message = message::of_long_steam(under_steam?, limit, since, &context.plant.shifts);
                Some(alert)
            })
        });
        without.into_iter().chain(too_long).collect()
    }
}

fn alert(context: &Context, finding: Finding, since: Timestamp, window: &Window) -> Alert {
    let mut alert = context.alert(Kind::OverSteaming, finding, finding.name(), since, window);
    alert.priority = Priority::Medium;
    alert.advice = advice::for_steam(finding);
    alert
}

/// How long a piece is under the injectors at the present speed, s.
fn seconds_under_steam(context: &Context, window: &Window) -> Option<f64> {
    let section = context.line().steam_section?;
    let speed = window.band_speed.filter(|speed| speed.0 > 0.0)?;
    Some(section.0 / speed.0 * 60.0)
}

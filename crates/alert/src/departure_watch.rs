//! Watches for departures from the normal without a rise: a damper that creeps, an injector that clogs.
//!
//! Each is too small to see in a window and adds up over hours, so the scores of the windows are
//! summed; see [`Cusum`].

use normal_profile::statistics::Cusum;
use normal_profile::{ALLOWANCE, Normal, NormalKey};
use reading::{Shape, Timestamp, Window};

use crate::advice;
use crate::alert::{Alert, Kind, Priority, ZoneFigures};
use crate::attribution::{Attribution, Bearings};
use crate::context::Context;
use crate::finding::Finding;
use crate::history::observation;
use crate::line_watch::LineEvent;
use crate::message;
use crate::standing::Standing;

/// While an alert stands, the oven is back when the sum has fallen to this share of the limit.
const BACK_BELOW: f64 = 0.5;
/// The sum is held at this many times the limit, so that an oven put right is seen to be in an hour.
const HELD_AT: f64 = 1.5;
/// How much wetter than zone 1 another zone must be before the trade's rule counts as broken.
const SHAPE_DEADBAND: f64 = 1.1;

/// Watches the departures of one line.
#[derive(Debug, Clone)]
pub(crate) struct DepartureWatch {
    cusum: Cusum,
    /// When the sum last left 0.
    since: Option<Timestamp>,
    bearings: Bearings,
    standing: Standing,
    /// What the sum is held against.
    normal: Option<NormalKey>,
}

impl DepartureWatch {
    pub(crate) fn new(context: &Context) -> Self {
        Self {
            cusum: Cusum::new(ALLOWANCE),
            since: None,
            bearings: Bearings::default(),
            standing: Standing::new(context.settings.departure_delays),
            normal: None,
        }
    }

    pub(crate) fn standing(&self) -> Option<&Alert> {
        self.standing.alert()
    }

    /// Takes a window of baking. `is_explained` says that a rise is under way or an unmatched one
    /// stands: then whatever departs has its cause, and nothing is added up.
    pub(crate) fn observe(
        &mut self,
        context: &Context,
        window: &Window,
        normal: Option<&Normal>,
        is_explained: bool,
    ) -> Option<LineEvent> {
        let Some(normal) = normal else { return self.observe_shape(context, window, is_explained) };
        if self.normal.as_ref() != Some(normal.key()) {
            self.normal = Some(normal.key().clone());
            self.forget();
        }
        if is_explained && !self.standing.stands() {
            self.forget();
            return None;
        }
        let seen = observation(window, 0)?;
        let departure = normal.departure(&seen);
        let limit = normal.departure_limit();
        self.cusum.observe(normal.standard_score(&departure));
        self.cusum.hold_below(HELD_AT * limit);
        let sum = self.cusum.sum();
        if sum == 0.0 {
            self.since = None;
            self.bearings.rest(window);
        } else {
            self.since.get_or_insert(window.starts);
            self.bearings.depart(window, &departure);
        }
        let condition = if self.standing.stands() { sum > BACK_BELOW * limit } else { sum > limit };
        let (since, bearings) = (self.since, &self.bearings);
        self.standing.observe(condition, window, |lasting_since| {
            let attribution = bearings.attribute();
            let began = since.unwrap_or(lasting_since);
            let mut alert =
                context.alert(Kind::DepartsFromNormal, attribution.finding, attribution.finding.name(), began, window);
            alert.priority = Priority::Medium;
            alert.zones = zone_figures(window, normal);
            alert.normal = Some(normal.key().to_string());
            alert.message = message::of_departure(&attribution, &alert.zones, began, &context.plant.shifts);
            alert.advice = advice::for_departure(&attribution);
            Some(alert)
        })
    }

    /// Before anything is learned the trade's rule stands in: a steamed product has its peak in zone 1.
    fn observe_shape(&mut self, context: &Context, window: &Window, is_explained: bool) -> Option<LineEvent> {
        self.normal = None;
        self.forget();
        let product = context.plant.product(window.product.as_deref()?)?;
        let moistures: Vec<f64> = window
            .zones
            .iter()
            .map(|zone| zone.humidity.map_or(f64::NAN, |ratio| message::moisture_pct(ratio.0.ln())))
            .collect();
        let (first, others) = moistures.split_first()?;
        let (wettest, most) = others.iter().enumerate().filter(|(_, value)| value.is_finite()).fold(
            (0, f64::NEG_INFINITY),
            |best, (index, &value)| if value > best.1 { (index + 2, value) } else { best },
        );
        let deadband = if self.standing.stands() { 1.0 } else { SHAPE_DEADBAND };
        let condition = product.shape == Shape::Steamed && !is_explained && most > first * deadband;
        self.standing.observe(condition, window, |since| {
            let finding = Finding::Unexplained;
            let mut alert = context.alert(Kind::DepartsFromNormal, finding, finding.name(), since, window);
            alert.priority = Priority::Medium;
            alert.message = message::of_shape(wettest, most, *first, since, &context.plant.shifts);
            alert.advice = advice::for_departure(&Attribution::unexplained(1));
            Some(alert)
        })
    }

    pub(crate) fn stand_down(&mut self, now: Timestamp) -> Option<LineEvent> {
        self.forget();
        self.standing.clear(now)
    }

    fn forget(&mut self) {
        self.cusum.reset();
        self.since = None;
        self.bearings.forget_departure();
    }
}

fn zone_figures(window: &Window, normal: &Normal) -> Vec<ZoneFigures> {
    let Some(speed) = window.band_speed else { return Vec::new() };
    let expected = normal.expect(speed);
    let zones = window.zones.iter().zip(&expected.zones).enumerate();
    zones
        .filter_map(|(index, (zone, expected))| {
            Some(ZoneFigures::against_normal(index + 1, zone.humidity?.0.ln(), expected.ln_humidity))
        })
        .collect()
}

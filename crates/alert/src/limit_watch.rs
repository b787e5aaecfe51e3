//! Watches the hard limit of zone 3: the trade's rule, which needs no normal.

use std::sync::Arc;

use physics::air;
use reading::{Timestamp, Window};

use crate::advice;
use crate::alert::{Alert, Kind, ZoneFigures};
use crate::context::Context;
use crate::finding::Finding;
use crate::line_watch::LineEvent;
use crate::message;
use crate::standing::Standing;

/// A limit is no longer passed when the moisture has fallen below it by this share.
const DEADBAND: f64 = 0.03;

/// Watches the hard limit of one line.
#[derive(Debug, Clone)]
pub(crate) struct LimitWatch {
    standing: Standing,
}

impl LimitWatch {
    pub(crate) fn new(context: &Context) -> Self {
        Self { standing: Standing::new(context.settings.limit_delays) }
    }

    pub(crate) fn standing(&self) -> Option<&Alert> {
        self.standing.alert()
    }

    /// Takes a window of baking. One cause, one alert: where an overload stands already, the limit
    /// adds nothing.
    pub(crate) fn observe(&mut self, context: &Context, window: &Window, overload_stands: bool) -> Option<LineEvent> {
        let (code, limit) = limit(context, window)?;
        let humidity = window.zones.get(2).and_then(|zone| zone.humidity)?;
        let percent = air::moisture_from_humidity_ratio(humidity).ok()?.0 * 100.0;
        let stands = self.standing.stands();
        let threshold = if stands { limit * (1.0 - DEADBAND) } else { limit };
        let condition = percent > threshold && (stands || !overload_stands);
        self.standing.observe(condition, window, |since| {
            let mut alert = context.alert(Kind::Zone3Limit, Finding::Zone3Limit, "", since, window);
            alert.message = message::of_limit(percent, limit, &code, since, &context.plant.shifts);
            alert.advice = advice::for_limit(window);
            alert.zones = vec![ZoneFigures::against_limit(3, percent, limit)];
            Some(alert)
        })
    }

    pub(crate) fn stand_down(&mut self, now: Timestamp) -> Option<LineEvent> {
        self.standing.clear(now)
    }
}

fn limit(context: &Context, window: &Window) -> Option<(Arc<str>, f64)> {
    let product = context.plant.product(window.product.as_deref()?)?;
    Some((product.code.clone(), product.max_zone3_moisture_pct?))
}

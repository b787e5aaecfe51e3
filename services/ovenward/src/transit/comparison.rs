//! Two runs side by side.

use super::review::RunReview;

/// What changed from one run to another.
pub(crate) struct Change {
    pub(crate) what: String,
    pub(crate) unit: &'static str,
    pub(crate) before: Option<f64>,
    pub(crate) after: Option<f64>,
}

impl Change {
    /// The second less the first.
    pub(crate) fn difference(&self) -> Option<f64> {
        Some(self.after? - self.before?)
    }
}

/// Whether two runs are of the same oven and product: else a difference is no change of one oven.
pub(crate) fn alike(before: &RunReview, after: &RunReview) -> bool {
    before.line == after.line && before.product == after.product
}

/// What changed, zone by zone and in what is said of the whole.
pub(crate) fn changes(before: &RunReview, after: &RunReview) -> Vec<Change> {
    let mut changes = Vec::new();
    let mut note = |what: String, unit, before, after| changes.push(Change { what, unit, before, after });
    for (number, (a, b)) in (1..).zip(before.zones.iter().zip(&after.zones)) {
        note(format!("zone {number}"), "% vol", a.moisture_pct, b.moisture_pct);
        note(format!("zone {number}"), "degC", a.temperature_c, b.temperature_c);
    }
    let mut of_whole = |what: &str, unit, of: fn(&RunReview) -> Option<f64>| {
        note(what.into(), unit, of(before), of(after));
    };
    of_whole("peak", "% vol", |run| run.peak.as_ref().map(|peak| peak.moisture_pct));
    of_whole("peak at", "m", |run| run.peak.as_ref().map(|peak| peak.metre));
    of_whole("fall zone 1 to 2", "%", |run| run.drop_1_to_2_pct);
    of_whole("zone 3 of wettest", "%", |run| run.zone3_to_peak_pct);
    of_whole("under steam", "s", |run| run.steam_exposure_s);
    of_whole("wetted", "s", |run| run.surface.as_ref().map(|surface| surface.wetted_s));
    changes
}

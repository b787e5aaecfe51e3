//! Levels that follow a signal slowly.

/// The gain of a level that takes an hour of windows to follow.
pub(crate) const OVER_AN_HOUR: f64 = 1.0 / 120.0;
/// The gain of one that takes ten minutes of windows.
pub(crate) const OVER_TEN_MINUTES: f64 = 1.0 / 20.0;

/// Moves a level towards a value; the first value is where it begins, and no value moves nothing.
pub(crate) fn follow(level: &mut Option<f64>, value: Option<f64>, gain: f64) {
    let Some(value) = value else { return };
    let level = level.get_or_insert(value);
    *level = towards(*level, value, gain);
}

/// A level that has moved towards a value.
pub(crate) fn towards(level: f64, value: f64, gain: f64) -> f64 {
    level + gain * (value - level)
}

//! `[alerts]`: how long alerts can be shelved.

use alert::ShelfLimits;
use reading::Span;

use super::key::Number;
use super::section::Section;

/// Eight hours are a shift: whoever shelved a high alert must still be there when it comes back.
const LONGEST_HIGH_SHELF: Number = Number::optional("longest_high_shelf_min", "60").within(1.0, 480.0, "min");
const LONGEST_SHELF: Number = Number::optional("longest_shelf_min", "1440").within(1.0, 10_080.0, "min");

/// Reads its keys; the kinds of alert in the same section are left to others.
pub(super) fn read(alerts: &Section<'_>) -> ShelfLimits {
    let defaults = ShelfLimits::default();
    let minutes = |number, default| alerts.count(number).map_or(default, |minutes| Span::minutes(minutes as i64));
    ShelfLimits { high: minutes(&LONGEST_HIGH_SHELF, defaults.high), other: minutes(&LONGEST_SHELF, defaults.other) }
}

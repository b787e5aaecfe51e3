//! The one error of this crate: a value outside the range in which a formula holds.

use std::fmt;
use std::ops::RangeInclusive;

/// A value lies outside the range in which the formula holds.
///
/// NaN and infinities are outside every range, so they end here too and never travel on as numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfRange {
    /// What was out of range, as an engineer would name it.
    pub quantity: &'static str,
    /// The value that was given.
    pub value: f64,
    /// The lowest value that is accepted.
    pub low: f64,
    /// The highest value that is accepted.
    pub high: f64,
    /// The unit of the three numbers; empty for a pure number.
    pub unit: &'static str,
}

impl OutOfRange {
    /// Passes `value` on if `range` holds it.
    #[inline]
    pub(crate) fn unless_in(
        range: RangeInclusive<f64>,
        quantity: &'static str,
        value: f64,
        unit: &'static str,
    ) -> Result<f64, Self> {
        if range.contains(&value) {
            Ok(value)
        } else {
            Err(Self { quantity, value, low: *range.start(), high: *range.end(), unit })
        }
    }
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { quantity, value, low, high, unit } = *self;
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        let (value, low, high) = (Plain(value), Plain(short(low)), Plain(short(high)));
        write!(f, "{quantity} {value}{unit} is outside {low} to {high}{unit}")
    }
}

impl std::error::Error for OutOfRange {}

/// A number without a tail of zeros, however large or small it is.
struct Plain(f64);

impl fmt::Display for Plain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self(value) = *self;
        if value == 0.0 || (1e-4..1e8).contains(&value.abs()) || !value.is_finite() {
            write!(f, "{value}")
        } else {
            write!(f, "{value:e}")
        }
    }
}

/// Seven significant digits, because many bounds are computed.
fn short(bound: f64) -> f64 {
    format!("{bound:.6e}").parse().unwrap_or(bound)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_what_was_given_and_what_is_accepted() {
        let error = OutOfRange::unless_in(-100.0..=99.974_294_5, "dew point", 104.25, "degC");
        assert_eq!(
            error.map_err(|error| error.to_string()),
            Err("dew point 104.25 degC is outside -100 to 99.97429 degC".to_owned())
        );
        let error = OutOfRange::unless_in(0.0..=1e16, "humidity ratio", -1e-9, "kg/kg");
        assert_eq!(
            error.map_err(|error| error.to_string()),
            Err("humidity ratio -1e-9 kg/kg is outside 0 to 1e16 kg/kg".to_owned())
        );
        let error = OutOfRange::unless_in(0.0..=1.0, "moisture fraction", f64::NAN, "");
        assert_eq!(error.map_err(|error| error.to_string()), Err("moisture fraction NaN is outside 0 to 1".to_owned()));
    }
}

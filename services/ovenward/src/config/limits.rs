//! Which values of a quantity are believed when the config sets no `min` and `max`.
//!
//! The limits are far outside what a tunnel oven does (common practice, from memory): they catch a
//! broken wire and a wrong unit, not a bad hour. Below zero there is room for a sensor's zero drift.

use reading::Quantity;
use reading::unit::Unit;

/// Lowest and highest believable value, in the quantity's first unit.
fn in_base_unit(quantity: Quantity) -> Option<(f64, f64)> {
    Some(match quantity {
        Quantity::Product => return None,
        Quantity::BandSpeed => (-0.1, 50.0),
        Quantity::BakeTime => (0.0, 600.0),
        Quantity::DividerRate => (0.0, 1000.0),
        Quantity::Feed => (0.0, 1.0),
        Quantity::SteamFlow => (-50.0, 5000.0),
        Quantity::SteamPressure => (-1.0, 40.0),
        Quantity::GasFlow => (-20.0, 2000.0),
        Quantity::ElectricPower => (-100.0, 5000.0),
        Quantity::GoodMass => (0.0, 1e9),
        Quantity::AmbientTemperature => (-40.0, 60.0),
        Quantity::AirTemperature => (-40.0, 450.0),
        Quantity::DewPoint => (-40.0, 100.0),
        Quantity::HumidityRatio => (-0.01, 20.0),
        Quantity::ExhaustFlow => (-500.0, 50_000.0),
        Quantity::SteamValve
        | Quantity::AmbientHumidity
        | Quantity::Moisture
        | Quantity::ExhaustDamper
        | Quantity::Burner => (-5.0, 105.0),
    })
}

/// Lowest and highest believable value in the unit that the plant sends.
pub(super) fn believable(quantity: Quantity, unit: Unit) -> Option<(f64, f64)> {
    let zero = unit.to_base(0.0);
    let factor = unit.to_base(1.0) - zero;
    // To six decimals, so that -40 degC is -40 degF and not -40.00000000000001.
    let from_base = |base: f64| ((base - zero) / factor * 1e6).round() / 1e6;
    in_base_unit(quantity).map(|(low, high)| (from_base(low), from_base(high)))
}

//! Numbers with their units, as they are written on the command line.

use physics::units::{Celsius, HumidityRatio, MoistureFraction};

/// A temperature with its unit. A bare number is refused: both units are in use beside ovens.
pub(super) fn temperature(text: &str) -> Result<Celsius, String> {
    if let Some(number) = text.strip_suffix("degC").or_else(|| text.strip_suffix("°C")) {
        return read(number).map(Celsius);
    }
    if let Some(number) = text.strip_suffix("degF").or_else(|| text.strip_suffix("°F")) {
        return read(number).map(|fahrenheit| Celsius((fahrenheit - 32.0) / 1.8));
    }
    Err(format!("write its unit: {text}degC or {text}degF"))
}

/// Moisture by volume in percent. A bare number is refused: 0.468 could be a share or a percentage.
pub(super) fn moisture(text: &str) -> Result<MoistureFraction, String> {
    match text.strip_suffix('%') {
        Some(number) => read(number).map(|percent| MoistureFraction(percent / 100.0)),
        None => Err(format!("write percent by volume: {text}%")),
    }
}

/// A humidity ratio with its unit. `kg/kg` is tried before `g/kg`, which is its end.
pub(super) fn humidity_ratio(text: &str) -> Result<HumidityRatio, String> {
    for (unit, factor) in [("kg/kg", 1.0), ("lb/lb", 1.0), ("g/kg", 1e-3)] {
        if let Some(number) = text.strip_suffix(unit) {
            return read(number).map(|ratio| HumidityRatio(ratio * factor));
        }
    }
    Err(format!("write its unit: {text}kg/kg, {text}g/kg or {text}lb/lb"))
}

fn read(number: &str) -> Result<f64, String> {
    let number = number.trim();
    number.parse().ok().filter(|value: &f64| value.is_finite()).ok_or_else(|| format!("{number:?} is no number"))
}

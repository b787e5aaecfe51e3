//! Adiabatic saturation, solved so that it holds up to the boiling point.

use super::{MoistAir, WATER_TO_AIR_MASS, heat};
use crate::root::root;
use crate::saturation;
use crate::units::Celsius;

/// Below every wet bulb that air of −60 °C can have.
const LOWEST: f64 = -100.0;

/// The temperature of adiabatic saturation of `air`; see [`MoistAir::wet_bulb`].
pub(super) fn of(air: &MoistAir) -> Celsius {
    let lowest = air.dew_point().map_or(LOWEST, |dew_point| dew_point.0.max(LOWEST));
    let highest = air.temperature().0.min(air.boiling_point().0);
    // Ice and water need different heats, so at 0 °C the balance has a step. Water wins where both
    // could be: a wick carries water until it has frozen.
    let with_water_at_freezing = excess(air, 0.0, heat::liquid(0.0));
    if highest <= 0.0 || (lowest < 0.0 && with_water_at_freezing > 0.0) {
        Celsius(root(|t| excess(air, t, heat::ice(t)), lowest, highest.min(0.0)))
    } else {
        Celsius(root(|t| excess(air, t, heat::liquid(t)), lowest.max(0.0), highest))
    }
}

/// What air saturated at `t` holds over what the given air and the added water bring, per kg of
/// dry air and times (P − p*), which keeps it finite up to the boiling point. Rises with `t`.
fn excess(air: &MoistAir, t: f64, water: f64) -> f64 {
    let total = air.pressure().0;
    // Within the bracket the saturation pressure exists and is at most the total pressure.
    let vapour = saturation::pressure(Celsius(t)).map_or(total, |vapour| vapour.0.min(total));
    let brought = air.enthalpy().0 - air.humidity_ratio().0 * water;
    (total - vapour) * (heat::dry_air(t) - brought) + WATER_TO_AIR_MASS * vapour * (heat::vapour(t) - water)
}

//! What the air of a run does to the surface of dough: computed from the samples of the first zone.

use physics::OutOfRange;
use physics::air::MoistAir;
use physics::dough::Dough;
use physics::surface::{Grid, Piece, Stage, expose};
use physics::units::{Celsius, KilogramPerSquareMetre, Metre, Pascal, Seconds, WattPerSquareMetreKelvin};

use super::journey::Journey;

/// Dough as it enters (common practice): its temperature, half its thickness, its share of gas.
const ENTERS_AT: Celsius = Celsius(32.0);
const DEPTH: Metre = Metre(0.03);
const GAS: f64 = 0.6;
/// Convection in the steam section (common practice: 5 to 50 in ovens).
const CONVECTION: WattPerSquareMetreKelvin = WattPerSquareMetreKelvin(25.0);
/// The surface is followed for this long: later its own water evaporates, which the model leaves out.
const FOLLOWED_S: f64 = 180.0;

/// What became of the surface in the steam.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Time during which vapour condensed on it.
    pub wetted: Seconds,
    /// All that condensed.
    pub condensate: KilogramPerSquareMetre,
    /// Whether it passed 77 °C (common practice) while vapour condensed.
    pub gelatinised_while_wet: bool,
}

/// Follows the surface of dough with this share of water through the first three minutes of a run.
///
/// # Errors
/// A share of water that no dough has, or air that cannot be.
pub fn surface(journey: &Journey, water: f64, pressure: Pascal) -> Result<Surface, OutOfRange> {
    let piece = Piece::of_dough(&Dough::lean(water, GAS)?, ENTERS_AT, DEPTH)?;
    let mut stages = Vec::new();
    let mut since = 0.0;
    for place in journey.places.iter().take_while(|place| place.seconds <= FOLLOWED_S) {
        let Some(moisture) = place.sample.moisture else { continue };
        let duration = place.seconds - since;
        if duration > 0.0 {
            let air = MoistAir::from_moisture(place.sample.temperature, moisture, pressure)?;
            stages.push(Stage {
                air,
                radiant: place.sample.temperature,
                convection: CONVECTION,
                duration: Seconds(duration),
            });
            since = place.seconds;
        }
    }
    let exposure = expose(&piece, &stages, Grid::default())?;
    Ok(Surface {
        wetted: exposure.wetted,
        condensate: exposure.condensate,
        gelatinised_while_wet: exposure.gelatinised_while_wet,
    })
}

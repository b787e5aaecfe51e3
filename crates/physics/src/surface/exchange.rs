//! What the surface gets from air and surroundings at one surface temperature.

use super::{Piece, Stage};
use crate::air::heat;
use crate::molar_mass;
use crate::saturation;
use crate::units::Celsius;

/// Stefan–Boltzmann constant, W/(m² K⁴) (CODATA 2018).
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;
/// Heat diffusivity over vapour diffusivity in air, to the power 2/3; from 0.85 at 20 °C to about 1
/// at 200 °C (handbook values, from memory).
const LEWIS_FACTOR: f64 = 0.93;
/// Keeps the logarithm of the driving force finite where the surface boils.
const LEAST_AIR: f64 = 1e-9;

/// The surface's side of one stage.
pub(super) struct Exchange {
    air: f64,
    radiant_fourth: f64,
    emissivity: f64,
    convection: f64,
    dew_point: f64,
    pressure: f64,
    dry_share: f64,
    /// Condensation per unit of driving force, kg/(m² s).
    transfer: f64,
    /// Heat capacity of vapour, J/(kg K).
    vapour_capacity: f64,
}

/// Heat and vapour that reach the surface, per area and second.
#[derive(Clone, Copy, Default)]
pub(super) struct Flux {
    /// W/m².
    pub(super) convected: f64,
    /// W/m².
    pub(super) radiated: f64,
    /// kg/(m² s); negative where the film evaporates.
    pub(super) condensed: f64,
}

impl Exchange {
    pub(super) fn new(piece: &Piece, stage: &Stage) -> Self {
        let Celsius(air) = stage.air.temperature();
        // Air without a dew point is too dry to wet anything.
        let dew_point = stage.air.dew_point().map_or(f64::NEG_INFINITY, |dew_point| dew_point.0);
        let moisture = stage.air.moisture().0;
        let between = 0.5 * (air + dew_point.max(piece.temperature.0));
        let slope = |enthalpy: fn(f64) -> f64| 0.5 * (enthalpy(between + 1.0) - enthalpy(between - 1.0));
        let vapour_capacity = slope(heat::vapour);
        let molar_capacity = (1.0 - moisture) * molar_mass::DRY_AIR * slope(heat::dry_air)
            + moisture * molar_mass::WATER * vapour_capacity;
        Self {
            air,
            radiant_fourth: stage.radiant.kelvin().powi(4),
            emissivity: piece.emissivity,
            convection: stage.convection.0,
            dew_point,
            pressure: stage.air.pressure().0,
            dry_share: 1.0 - moisture,
            transfer: molar_mass::WATER * stage.convection.0 / (molar_capacity * LEWIS_FACTOR),
            vapour_capacity,
        }
    }

    /// Dew point of the stage's air, °C; −∞ for air that has none.
    pub(super) fn dew_point(&self) -> f64 {
        self.dew_point
    }

    /// What reaches a surface of this temperature, if the film can lose at most `available`
    /// kg/(m² s).
    pub(super) fn at(&self, surface: f64, available: f64) -> Flux {
        let condensed = self.condensing(surface).max(-available);
        // Vapour on its way to the surface brings heat along (Ackermann's correction).
        let stream = condensed * self.vapour_capacity / self.convection;
        let correction = if stream.abs() < 1e-6 { 1.0 + 0.5 * stream } else { stream / -(-stream).exp_m1() };
        let surface_fourth = Celsius(surface).kelvin().powi(4);
        Flux {
            convected: self.convection * correction * (self.air - surface),
            radiated: self.emissivity * STEFAN_BOLTZMANN * (self.radiant_fourth - surface_fourth),
            condensed,
        }
    }

    /// Condensation on a wet surface, kg/(m² s): transfer · ln((1 − x_surface)/(1 − x_air)).
    fn condensing(&self, surface: f64) -> f64 {
        let saturated = saturation::pressure(Celsius(surface)).map_or(f64::INFINITY, |vapour| vapour.0);
        let dry_at_surface = (1.0 - saturated / self.pressure).max(LEAST_AIR);
        self.transfer * (dry_at_surface / self.dry_share).ln()
    }
}

//! From a Gibbs energy to the properties that follow from it (tables 3 and 12 of R7-97(2012)).

use super::State;
use crate::units::{Celsius, CubicMetrePerKilogram, JoulePerKilogram, JoulePerKilogramKelvin, MetrePerSecond, Pascal};

/// Specific gas constant of water in IAPWS-IF97, J/(kg K).
pub(crate) const GAS_CONSTANT: f64 = 461.526;

/// Dimensionless Gibbs energy γ(π, τ) = g/(R T) and its derivatives.
pub(super) struct Gibbs {
    pub(super) pi: f64,
    pub(super) tau: f64,
    pub(super) value: f64,
    pub(super) by_pi: f64,
    pub(super) by_pi_pi: f64,
    pub(super) by_tau: f64,
    pub(super) by_tau_tau: f64,
    pub(super) by_pi_tau: f64,
}

impl Gibbs {
    pub(super) const ZERO: Self =
        Self { pi: 0.0, tau: 0.0, value: 0.0, by_pi: 0.0, by_pi_pi: 0.0, by_tau: 0.0, by_tau_tau: 0.0, by_pi_tau: 0.0 };

    /// The properties at the temperature and pressure at which this energy was taken.
    pub(super) fn state(&self, temperature: Celsius, pressure: Pascal) -> State {
        let &Self { pi, tau, value, by_pi, by_pi_pi, by_tau, by_tau_tau, by_pi_tau } = self;
        let energy = GAS_CONSTANT * temperature.kelvin();
        let compression = pi * by_pi;
        let mixed = by_pi - tau * by_pi_tau;
        let sound = by_pi * by_pi / (mixed * mixed / (tau * tau * by_tau_tau) - by_pi_pi);
        State {
            temperature,
            pressure,
            volume: CubicMetrePerKilogram(energy * compression / pressure.0),
            enthalpy: JoulePerKilogram(energy * tau * by_tau),
            internal_energy: JoulePerKilogram(energy * (tau * by_tau - compression)),
            entropy: JoulePerKilogramKelvin(GAS_CONSTANT * (tau * by_tau - value)),
            heat_capacity: JoulePerKilogramKelvin(-GAS_CONSTANT * tau * tau * by_tau_tau),
            sound_speed: MetrePerSecond((energy * sound).sqrt()),
        }
    }
}

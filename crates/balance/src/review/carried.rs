//! The other way round: the highest speed that this oven carries.

use serde::Serialize;

use super::open_exhaust::widest;
use super::{ALLOWED_CHANCE, Desk, least};

/// No speed beyond this many times the usual one is looked at: the balance would know nothing of it.
const FASTEST: f64 = 1.5;

/// The highest speeds that keep the chance of carryover low, m/min.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Carried {
    /// With nothing touched but the band; none if not even the usual speed.
    pub untouched_m_min: Option<f64>,
    /// With the exhaust opened as far as it goes.
    pub exhaust_open_m_min: Option<f64>,
    /// The chance of carryover that is accepted, %.
    pub accepted_chance_pct: f64,
}

pub(super) fn carried(desk: &Desk<'_>) -> Carried {
    let balance = desk.question.balance;
    let usual = &balance.record().usual;
    let speed = |amount: f64| usual.speed_m_min * (FASTEST - amount * (FASTEST - 1.0));
    let highest = |running: &dyn Fn(f64) -> crate::Running| {
        least(|amount| desk.chance(&running(speed(amount)), balance) <= ALLOWED_CHANCE).map(speed)
    };
    Carried {
        untouched_m_min: highest(&|speed| usual.untouched(speed)),
        exhaust_open_m_min: highest(&|speed| widest(balance, speed)),
        accepted_chance_pct: 100.0 * ALLOWED_CHANCE,
    }
}

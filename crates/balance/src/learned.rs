//! One set of learned values, put in its places.

use physics::units::Celsius;

use crate::drying::DryingCurve;
use crate::exhaust::{DamperCurve, Draught, ZoneExhaust};
use crate::parameters::Parameters;
use crate::running::{Running, Usual};
use crate::settings::Settings;
use crate::unknown::Unknown;

/// Learned values in the places in which the balance looks for them.
#[derive(Debug, Clone, PartialEq)]
pub struct Learned {
    /// What the balance itself needs.
    pub parameters: Parameters,
    /// What the dampers let through.
    pub damper: DamperCurve,
    /// The exhaust of each zone.
    pub exhaust: Vec<ZoneExhaust>,
    /// Steam as usually run, kg/h.
    pub usual_steam_kg_h: f64,
}

impl Learned {
    /// Puts values, in their units and in the order of the unknowns, in their places.
    pub(crate) fn new(unknowns: &[Unknown], values: &[f64], usual: &Usual) -> Self {
        let zones = usual.temperatures_c.len();
        let mut learned = Self {
            parameters: Parameters {
                drying: DryingCurve { shape: 2.0, scale_min: 10.0 },
                exchange_kg_h: 0.0,
                steam_into_zone_2: 0.0,
                wall_kw_per_m: 0.0,
                usual: usual.temperatures_c.iter().map(|t| Celsius(*t)).collect(),
            },
            damper: DamperCurve { power: 1.0, by_speed: 0.0 },
            exhaust: vec![ZoneExhaust { usual_kg_h: 1.0, usual_opening: None }; zones],
            usual_steam_kg_h: usual.steam_kg_h.unwrap_or_default(),
        };
        let parameters = &mut learned.parameters;
        for (unknown, value) in unknowns.iter().zip(values) {
            match unknown {
                Unknown::DryingShape => parameters.drying.shape = *value,
                Unknown::DryingScale => parameters.drying.scale_min = *value,
                Unknown::Exchange => parameters.exchange_kg_h = *value,
                Unknown::SteamDrift => parameters.steam_into_zone_2 = *value,
                Unknown::Walls => parameters.wall_kw_per_m = *value,
                Unknown::DamperPower => learned.damper.power = *value,
                Unknown::ExhaustBySpeed => learned.damper.by_speed = *value,
                Unknown::Steam => learned.usual_steam_kg_h = value * usual.dough_kg_h,
                Unknown::Exhaust(zone) => {
                    let usual_opening = usual.openings.as_ref().map(|openings| openings[*zone]);
                    learned.exhaust[*zone] = ZoneExhaust { usual_kg_h: *value, usual_opening };
                }
            }
        }
        learned
    }

    /// The settings that a way of running comes to.
    #[must_use]
    pub fn settings(&self, running: &Running) -> Settings {
        let drawn = |(exhaust, draught): (&ZoneExhaust, &Draught)| exhaust.draws_kg_h(*draught, &self.damper);
        Settings {
            exhaust_kg_h: self.exhaust.iter().zip(&running.draught).map(drawn).collect(),
            temperatures: running.temperatures_c.iter().map(|t| Celsius(*t)).collect(),
            steam_kg_h: self.usual_steam_kg_h * running.steam_ratio,
        }
    }
}

//! The air in the zones: water comes and goes, temperature follows its setpoint.

use rand::Rng;

use crate::motion::Wander;
use crate::oven::{self, Oven};
use crate::weather::Outside;

/// How fast a zone's temperature follows what the burner control asks for, s.
const FOLLOWS_S: f64 = 300.0;
/// How fast an oven cools with its burners off, s.
const COOLS_S: f64 = 9000.0;
/// Droop of the temperature control when a zone needs twice its usual heat, °C.
const DROOP_C: f64 = 5.0;
/// Steel and stone that warm with a zone, kJ/K.
const WARMED_KJ_PER_K: f64 = 700.0;
/// Largest heat that a zone's burners give, kW.
const BURNER_KW: f64 = 250.0;

/// The air in all zones of an oven.
#[derive(Debug, Clone)]
pub(crate) struct ZoneAir {
    water_kg: Vec<f64>,
    /// Temperature that control holds, °C; flames flicker about it.
    held_c: Vec<f64>,
    flicker_c: Vec<Wander>,
    /// Heat that each zone usually needs, kW.
    usual_heat_kw: Vec<f64>,
    pub(crate) heat_kw: Vec<f64>,
    pub(crate) water: WaterBalance,
}

/// Where the water in the air has come from and gone to since the start, kg.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct WaterBalance {
    /// Given off by dough.
    pub evaporated_kg: f64,
    /// Injected as steam.
    pub steam_kg: f64,
    /// Left by burning gas.
    pub combustion_kg: f64,
    /// Drawn in with fresh air.
    pub make_up_kg: f64,
    /// Carried off by the exhaust.
    pub exhausted_kg: f64,
    /// In the zones at the start.
    pub at_start_kg: f64,
    /// In the zones now.
    pub stored_kg: f64,
}

/// What is done to the air during a step.
pub(crate) struct Load<'a> {
    pub(crate) evaporated_kg: &'a [f64],
    pub(crate) steam_kg_h: f64,
    pub(crate) exhaust_kg_h: &'a [f64],
    pub(crate) setpoints_c: &'a [f64],
    pub(crate) burners: bool,
    pub(crate) outside: Outside,
}

impl ZoneAir {
    /// Air at rest with these moistures (by volume), temperatures and needs of heat.
    pub(crate) fn at_rest(
        oven: &Oven,
        moistures: impl Iterator<Item = f64>,
        temperatures_c: Vec<f64>,
        usual_heat_kw: Vec<f64>,
        step_s: f64,
    ) -> Self {
        let water_kg: Vec<f64> =
            moistures.zip(&oven.dry_air_kg).map(|(moisture, dry)| oven::humidity_ratio(moisture) * dry).collect();
        let stored_kg = water_kg.iter().sum();
        Self {
            flicker_c: vec![Wander::new(0.7, 120.0, step_s); water_kg.len()],
            held_c: temperatures_c,
            heat_kw: usual_heat_kw.clone(),
            usual_heat_kw,
            water_kg,
            water: WaterBalance { at_start_kg: stored_kg, stored_kg, ..WaterBalance::default() },
        }
    }

    pub(crate) fn temperature_c(&self, zone: usize) -> f64 {
        self.held_c[zone] + self.flicker_c[zone].value()
    }

    pub(crate) fn moisture(&self, oven: &Oven, zone: usize) -> f64 {
        oven::moisture(self.water_kg[zone] / oven.dry_air_kg[zone])
    }

    pub(crate) fn step(&mut self, oven: &Oven, load: &Load<'_>, step_s: f64, rng: &mut impl Rng) {
        let hours = step_s / 3600.0;
        let ratios: Vec<f64> = self.water_kg.iter().zip(&oven.dry_air_kg).map(|(water, dry)| water / dry).collect();
        for zone in 0..oven.zones() {
            self.warm(oven, load, zone, ratios[zone], step_s);
            self.flicker_c[zone].step(rng);
            let steam = oven.steam_share(zone) * load.steam_kg_h * hours;
            let combustion = oven.combustion_water_kg_h(self.heat_kw[zone]) * hours;
            let make_up = load.exhaust_kg_h[zone] * load.outside.humidity_ratio * hours;
            let exhausted = load.exhaust_kg_h[zone] * ratios[zone] * hours;
            let exchanged = oven.exchange_kg_h(zone, |zone| ratios[zone]) * hours;
            self.water_kg[zone] += load.evaporated_kg[zone] + steam + combustion + make_up - exhausted + exchanged;
            self.water.evaporated_kg += load.evaporated_kg[zone];
            self.water.steam_kg += steam;
            self.water.combustion_kg += combustion;
            self.water.make_up_kg += make_up;
            self.water.exhausted_kg += exhausted;
        }
        self.water.stored_kg = self.water_kg.iter().sum();
    }

    /// Lets the temperature follow, and finds the heat that the burners give.
    fn warm(&mut self, oven: &Oven, load: &Load<'_>, zone: usize, ratio: f64, step_s: f64) {
        let outside_c = load.outside.temperature_c;
        if !load.burners {
            self.held_c[zone] += (outside_c - self.held_c[zone]) * step_s / COOLS_S;
            self.heat_kw[zone] = 0.0;
            return;
        }
        let evaporation_kg_h = load.evaporated_kg[zone] * 3600.0 / step_s;
        let above = self.held_c[zone] - outside_c;
        let needed = oven.heat_kw(zone, evaporation_kg_h, load.exhaust_kg_h[zone], ratio, above);
        let droop = DROOP_C * (needed / self.usual_heat_kw[zone] - 1.0).clamp(-1.0, 2.0);
        let rise = (load.setpoints_c[zone] - droop - self.held_c[zone]) * step_s / FOLLOWS_S;
        let spare = (BURNER_KW - needed).max(0.0);
        let rise = rise.min(spare * step_s / WARMED_KJ_PER_K);
        self.held_c[zone] += rise;
        self.heat_kw[zone] = (needed + WARMED_KJ_PER_K * rise / step_s).max(0.0);
    }
}

//! The oven as it was built, and the settings that hold a product's humidity profile in it.
//!
//! Every zone is a stirred volume. At rest its water balance reads
//! `G (w - w_outside) = evaporation + steam + combustion water + exchange with its neighbours`,
//! with `G` the dry air drawn by its exhaust. Crews know from practice which dampers and how much
//! steam satisfy it; here it is solved for them.

use crate::bakery::{Bakery, Firing, Line};
use crate::exhaust;
use crate::product::Product;
use crate::weather::Outside;

/// Dry air in a cubic metre of hot, moist oven air, kg/m³.
const DRY_AIR_KG_PER_M3: f64 = 0.6;
/// Free height above and below the band, m.
const HEIGHT_M: f64 = 0.9;
const WIDTH_M: f64 = 2.0;
/// Dry air that two neighbours swap, kg/h.
pub(crate) const EXCHANGE_KG_H: f64 = 60.0;
/// Loss through the walls, kW per metre of oven.
pub(crate) const WALL_KW_PER_M: f64 = 2.0;
/// Water from burning methane, kg per kWh net: two molecules of water from each of methane.
const COMBUSTION_WATER_KG_PER_KWH: f64 = 0.162;
/// Heat taken by the dough with each kg it dries, kWh: warming the dough and evaporation.
const BAKING_KWH_PER_KG: f64 = 4400.0 / 3600.0;
/// Steam that drifts on into zone 2, as a share.
pub(crate) const STEAM_INTO_ZONE_2: f64 = 0.2;
/// The weather that recipes were made in.
const RECIPE_WEATHER: Outside = Outside { temperature_c: 25.0, humidity_ratio: 0.008 };

/// What does not change about an oven while it runs.
#[derive(Debug, Clone)]
pub(crate) struct Oven {
    pub(crate) length_m: f64,
    /// Where zones begin and end, m from the mouth: one more than there are zones.
    pub(crate) borders_m: Vec<f64>,
    pub(crate) dry_air_kg: Vec<f64>,
    /// Dry air that the exhaust draws with its damper fully open, kg/h.
    full_exhaust_kg_h: Vec<f64>,
    combustion_water_kg_per_kwh: f64,
}

/// What a crew sets to hold a profile.
#[derive(Debug, Clone)]
pub(crate) struct Settings {
    /// Dry air drawn from each zone, kg/h.
    pub(crate) exhaust_kg_h: Vec<f64>,
    pub(crate) steam_kg_h: f64,
}

/// With what a crew answers another band speed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Means {
    /// The dampers from zone 2 on, and a trim of steam.
    Dampers,
    /// Steam for zones 1 and 2; the dampers from zone 3 on.
    Steam,
}

impl Oven {
    pub(crate) fn new(bakery: &Bakery, line: &Line) -> Self {
        let length_m = line.length_m();
        let mut oven = Self {
            length_m,
            borders_m: line.borders().iter().map(|border| border * length_m).collect(),
            dry_air_kg: line.zones.iter().map(|zone| zone.length_m * WIDTH_M * HEIGHT_M * DRY_AIR_KG_PER_M3).collect(),
            full_exhaust_kg_h: vec![f64::INFINITY; line.zones.len()],
            combustion_water_kg_per_kwh: match line.firing {
                Firing::Direct => COMBUSTION_WATER_KG_PER_KWH,
                Firing::Indirect | Firing::Electric => 0.0,
            },
        };
        let sizing = line.products.first().and_then(|code| bakery.product_index(code)).unwrap_or(0);
        let recipe = oven.recipe(&bakery.products[sizing]);
        for (zone, full) in oven.full_exhaust_kg_h.iter_mut().enumerate() {
            let share = exhaust::flow_share(line.zones[zone].damper_pct / 100.0);
            *full = recipe.exhaust_kg_h[zone] / share;
        }
        oven
    }

    pub(crate) fn zones(&self) -> usize {
        self.dry_air_kg.len()
    }

    /// Band speed at the nominal bake time, m/s.
    pub(crate) fn nominal_speed(&self, product: &Product) -> f64 {
        self.length_m / (product.bake_time_min * 60.0)
    }

    /// The air temperatures wanted in the zones, °C: the product's at the middle of each.
    pub(crate) fn temperatures_c(&self, product: &Product) -> Vec<f64> {
        let middle = |zone: usize| (self.borders_m[zone] + self.borders_m[zone + 1]) / 2.0;
        (0..self.zones()).map(|zone| product.temperature_at(middle(zone) / self.length_m)).collect()
    }

    /// Dry air drawn from a zone with its damper at this opening (0 to 1), kg/h.
    pub(crate) fn exhaust_kg_h(&self, zone: usize, opening: f64) -> f64 {
        self.full_exhaust_kg_h[zone] * exhaust::flow_share(opening)
    }

    /// The damper opening (0 to 1) that draws this much from a zone, as far as the fan can.
    pub(crate) fn opening_for(&self, zone: usize, exhaust_kg_h: f64) -> f64 {
        exhaust::opening_for(exhaust_kg_h / self.full_exhaust_kg_h[zone])
    }

    /// Share of the injected steam that enters a zone.
    pub(crate) fn steam_share(&self, zone: usize) -> f64 {
        match zone {
            0 => 1.0 - STEAM_INTO_ZONE_2,
            1 => STEAM_INTO_ZONE_2,
            _ => 0.0,
        }
    }

    /// Water that a zone gains from its neighbours, kg/h, from the humidity ratios of all zones.
    pub(crate) fn exchange_kg_h(&self, zone: usize, humidity_ratio: impl Fn(usize) -> f64) -> f64 {
        let here = humidity_ratio(zone);
        let mut gained = 0.0;
        if zone > 0 {
            gained += EXCHANGE_KG_H * (humidity_ratio(zone - 1) - here);
        }
        if zone + 1 < self.zones() {
            gained += EXCHANGE_KG_H * (humidity_ratio(zone + 1) - here);
        }
        gained
    }

    /// Heat that a zone needs apart from what its exhaust carries off, kW.
    fn standing_heat_kw(&self, zone: usize, evaporation_kg_h: f64) -> f64 {
        let length_m = self.borders_m[zone + 1] - self.borders_m[zone];
        BAKING_KWH_PER_KG * evaporation_kg_h + WALL_KW_PER_M * length_m
    }

    /// Heat that a zone needs, kW.
    pub(crate) fn heat_kw(
        &self,
        zone: usize,
        evaporation_kg_h: f64,
        exhaust_kg_h: f64,
        humidity_ratio: f64,
        degrees_above_outside: f64,
    ) -> f64 {
        self.standing_heat_kw(zone, evaporation_kg_h)
            + exhaust_kg_h * carried_kwh_per_kg(humidity_ratio, degrees_above_outside)
    }

    /// Water that burning gas for this heat leaves in the zone, kg/h.
    pub(crate) fn combustion_water_kg_h(&self, heat_kw: f64) -> f64 {
        self.combustion_water_kg_per_kwh * heat_kw
    }

    /// The settings for a product at its nominal speed.
    pub(crate) fn recipe(&self, product: &Product) -> Settings {
        let balance = Balance::new(self, product, 1.0);
        let steam_kg_h = product.steam_kg_per_kg * balance.dough_kg_h;
        Settings {
            exhaust_kg_h: (0..self.zones()).map(|zone| balance.exhaust_for(zone, steam_kg_h)).collect(),
            steam_kg_h,
        }
    }

    /// Heat that each zone needs for a product at its nominal speed, kW.
    pub(crate) fn usual_heat_kw(&self, product: &Product) -> Vec<f64> {
        let recipe = self.recipe(product);
        let balance = Balance::new(self, product, 1.0);
        let heat = |zone: usize| {
            self.heat_kw(
                zone,
                balance.evaporation_kg_h[zone],
                recipe.exhaust_kg_h[zone],
                balance.humidity_ratio[zone],
                balance.degrees_above_outside[zone],
            )
        };
        (0..self.zones()).map(heat).collect()
    }

    /// The settings that hold the product's profile at a band speed of `rate` x nominal.
    pub(crate) fn hold(&self, product: &Product, rate: f64, means: Means) -> Settings {
        let recipe = self.recipe(product);
        let balance = Balance::new(self, product, rate);
        let (led_by, first_moved) = match means {
            Means::Dampers => (0, 1),
            Means::Steam => (1, 2),
        };
        let steam_kg_h = balance
            .steam_for(led_by, recipe.exhaust_kg_h[led_by])
            .clamp(0.5 * recipe.steam_kg_h, 1.5 * recipe.steam_kg_h);
        let exhaust = |zone| match zone < first_moved {
            true => recipe.exhaust_kg_h[zone],
            false => balance.exhaust_for(zone, steam_kg_h),
        };
        Settings { exhaust_kg_h: (0..self.zones()).map(exhaust).collect(), steam_kg_h }
    }
}

/// The water balance at rest, with every zone at the product's humidity.
struct Balance<'a> {
    oven: &'a Oven,
    dough_kg_h: f64,
    evaporation_kg_h: Vec<f64>,
    humidity_ratio: Vec<f64>,
    degrees_above_outside: Vec<f64>,
}

impl<'a> Balance<'a> {
    fn new(oven: &'a Oven, product: &Product, rate: f64) -> Self {
        let dough_kg_h = product.dough_kg_per_m * oven.nominal_speed(product) * rate * 3600.0;
        let dried_at = |border_m: f64| product.drying.dried(border_m / oven.length_m / rate);
        let evaporation = |border: &[f64]| dough_kg_h * product.bake_loss * (dried_at(border[1]) - dried_at(border[0]));
        Self {
            oven,
            dough_kg_h,
            evaporation_kg_h: oven.borders_m.windows(2).map(evaporation).collect(),
            humidity_ratio: (0..oven.zones()).map(|zone| humidity_ratio(product.target_moisture(zone))).collect(),
            degrees_above_outside: oven
                .temperatures_c(product)
                .iter()
                .map(|temperature| temperature - RECIPE_WEATHER.temperature_c)
                .collect(),
        }
    }

    /// Water entering a zone apart from steam and from the gas burnt to heat its exhaust, kg/h.
    fn standing_water(&self, zone: usize) -> f64 {
        let evaporation = self.evaporation_kg_h[zone];
        let heat = self.oven.standing_heat_kw(zone, evaporation);
        evaporation
            + self.oven.exchange_kg_h(zone, |zone| self.humidity_ratio[zone])
            + self.oven.combustion_water_kg_h(heat)
    }

    /// Water carried off by a kg of dry exhaust air, less what the gas that heats it brings, kg.
    fn removed_per_kg(&self, zone: usize) -> f64 {
        let ratio = self.humidity_ratio[zone];
        let heat = carried_kwh_per_kg(ratio, self.degrees_above_outside[zone]);
        ratio - RECIPE_WEATHER.humidity_ratio - self.oven.combustion_water_kg_h(heat)
    }

    fn exhaust_for(&self, zone: usize, steam_kg_h: f64) -> f64 {
        let water = self.standing_water(zone) + self.oven.steam_share(zone) * steam_kg_h;
        // A profile drier than the burnt gas can't be reached: draw what a large fan would.
        water / self.removed_per_kg(zone).max(0.002)
    }

    fn steam_for(&self, zone: usize, exhaust_kg_h: f64) -> f64 {
        let water = exhaust_kg_h * self.removed_per_kg(zone) - self.standing_water(zone);
        water / self.oven.steam_share(zone)
    }
}

/// Heat to bring a kg of dry air and its vapour to the oven's temperature, kWh.
fn carried_kwh_per_kg(humidity_ratio: f64, degrees: f64) -> f64 {
    (1.006 + 1.86 * humidity_ratio) * degrees / 3600.0
}

/// Humidity ratio of air with this share of vapour by volume, kg/kg.
pub(crate) fn humidity_ratio(moisture: f64) -> f64 {
    physics::air::WATER_TO_AIR_MASS * moisture / (1.0 - moisture)
}

/// Share of vapour by volume of air with this humidity ratio.
pub(crate) fn moisture(humidity_ratio: f64) -> f64 {
    humidity_ratio / (physics::air::WATER_TO_AIR_MASS + humidity_ratio)
}

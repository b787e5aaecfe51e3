//! A line as it runs: people at the controls, dough on the band, air in the zones.

use std::collections::VecDeque;

use anyhow::Result;
use chrono::{DateTime, TimeDelta, Utc};
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::bakery::{Bakery, Line};
use crate::controls::{Controls, Hands};
use crate::crew::Crew;
use crate::dough::{Bake, Baked, DoughLine, Feed};
use crate::drying::DryingTable;
use crate::motion::Wander;
use crate::oven::Oven;
use crate::plan::{Action, Held, Plan};
use crate::product::Product;
use crate::rota::Rota;
use crate::schedule::Schedule;
use crate::weather::{Outside, Weather};
use crate::zone_air::{Load, WaterBalance, ZoneAir};

/// Length of a step of the physics.
const STEP: TimeDelta = TimeDelta::seconds(2);
pub(crate) const STEP_S: f64 = 2.0;
/// How much faster dough dries for each °C above the wanted temperature.
const DRYING_PER_C: f64 = 0.008;
/// Heat in a cubic metre of natural gas, kWh net.
const GAS_KWH_PER_M3: f64 = 9.8;

pub(crate) struct RunningLine {
    pub(crate) oven: Oven,
    pub(crate) controls: Controls,
    pub(crate) air: ZoneAir,
    dough: DoughLine,
    products: Vec<Product>,
    temperatures_c: Vec<Vec<f64>>,
    crews: Vec<Crew>,
    crew: usize,
    rota: Rota,
    shift_change: Option<(DateTime<Utc>, usize)>,
    actions: VecDeque<(DateTime<Utc>, Action)>,
    weather: Weather,
    /// The air that the oven draws in.
    pub(crate) outside: Outside,
    feed_wander: Wander,
    steam_wander: Wander,
    now: DateTime<Utc>,
    people: Xoshiro256PlusPlus,
    process: Xoshiro256PlusPlus,
}

impl RunningLine {
    pub(crate) fn new(
        bakery: &Bakery,
        line: &Line,
        schedule: &Schedule,
        weather: Weather,
        seed: u64,
        start: DateTime<Utc>,
    ) -> Result<Self> {
        let mut people = Xoshiro256PlusPlus::seed_from_u64(seed);
        let mut process = people.clone();
        process.jump();
        let rota = Rota::new(bakery.time_zone, &bakery.shifts, line.crews.len());
        let plan = Plan::new(bakery, line, schedule, &rota, &mut people)?;
        let oven = Oven::new(bakery, line);
        let product = &bakery.products[plan.product];
        let bakes: Vec<Bake> = bakery.products.iter().map(bake).collect();
        let speed = oven.nominal_speed(product) * plan.rate;
        let feed = Feed { product: plan.product, kg_per_m: product.dough_kg_per_m };
        let usual_heat_kw = oven.usual_heat_kw(product);
        let air = ZoneAir::at_rest(
            &oven,
            (0..oven.zones()).map(|zone| product.target_moisture(zone)),
            oven.temperatures_c(product),
            usual_heat_kw,
            STEP_S,
        );
        let crew = rota.crew_at(start);
        let mut running = Self {
            controls: Controls::baking(&oven, &bakery.products, plan.product, plan.rate),
            dough: DoughLine::full(feed, bakes, oven.borders_m.clone(), speed),
            temperatures_c: bakery.products.iter().map(|product| oven.temperatures_c(product)).collect(),
            products: bakery.products.clone(),
            air,
            oven,
            crews: line.crews.clone(),
            crew,
            shift_change: rota.next_after(start),
            rota,
            actions: plan.actions.into(),
            outside: weather.at(start.timestamp() as f64),
            weather,
            feed_wander: Wander::new(0.008, 300.0, STEP_S),
            steam_wander: Wander::new(0.012, 400.0, STEP_S),
            now: start,
            people,
            process,
        };
        running.take_over(crew, STEP_S);
        Ok(running)
    }

    /// Runs on to this time, and lets `watch` look after each step.
    pub(crate) fn advance_to(&mut self, time: DateTime<Utc>, mut watch: impl FnMut(&Self)) {
        while self.now + STEP <= time {
            self.now += STEP;
            self.act();
            self.step();
            watch(self);
        }
    }

    pub(crate) fn product_code(&self) -> &str {
        &self.products[self.controls.product].code
    }

    pub(crate) fn fed(&self) -> bool {
        !self.controls.holds(Held::Feed) && self.controls.band_speed() > 0.0
    }

    /// Steam that enters, kg/h.
    pub(crate) fn steam_kg_h(&self) -> f64 {
        self.controls.steam_kg_h() * (1.0 + self.steam_wander.value())
    }

    /// Gas burnt, m³/h.
    pub(crate) fn gas_m3_h(&self) -> f64 {
        self.air.heat_kw.iter().sum::<f64>() / GAS_KWH_PER_M3
    }

    pub(crate) fn water(&self) -> WaterBalance {
        self.air.water
    }

    pub(crate) fn baked(&self) -> Baked {
        self.dough.baked
    }

    /// People do what the plan and the shift rota say by now.
    fn act(&mut self) {
        let now_s = self.now.timestamp_millis() as f64 / 1000.0;
        while self.actions.front().is_some_and(|(at, _)| *at <= self.now) {
            let Some((_, action)) = self.actions.pop_front() else { return };
            let mut hands = Hands {
                oven: &self.oven,
                products: &self.products,
                crew: &self.crews[self.crew],
                rng: &mut self.people,
            };
            self.controls.apply(&action, now_s, &mut hands);
        }
        if let Some((at, crew)) = self.shift_change
            && at <= self.now
        {
            // A new crew sets the oven its own way without haste.
            let over_s = self.people.gen_range(300.0..900.0);
            self.take_over(crew, over_s);
            self.shift_change = self.rota.next_after(self.now);
        }
    }

    /// A crew comes on and sets the oven its own way.
    fn take_over(&mut self, crew: usize, over_s: f64) {
        self.crew = crew;
        let mut hands =
            Hands { oven: &self.oven, products: &self.products, crew: &self.crews[crew], rng: &mut self.people };
        self.controls.set(over_s, &mut hands);
    }

    fn step(&mut self) {
        self.controls.step(STEP_S);
        self.feed_wander.step(&mut self.process);
        self.steam_wander.step(&mut self.process);
        let zones = self.oven.zones();
        let mut evaporated_kg = vec![0.0; zones];
        let product = self.controls.product;
        let feed = self.fed().then(|| Feed {
            product,
            kg_per_m: self.products[product].dough_kg_per_m * (1.0 + self.feed_wander.value()),
        });
        let pace: Vec<f64> = self
            .temperatures_c
            .iter()
            .flat_map(|wanted| {
                let air = &self.air;
                let pace = move |zone| DRYING_PER_C * (air.temperature_c(zone) - wanted[zone]);
                (0..zones).map(move |zone| pace(zone).exp())
            })
            .collect();
        self.dough.step(
            STEP_S,
            self.controls.band_speed() * STEP_S,
            feed,
            |product, zone| pace[product * zones + zone],
            &mut evaporated_kg,
        );
        self.outside = self.weather.at(self.now.timestamp() as f64);
        self.outside.humidity_ratio += self.controls.make_up_shift.value();
        let exhaust_kg_h: Vec<f64> =
            (0..zones).map(|zone| self.oven.exhaust_kg_h(zone, self.controls.damper(zone))).collect();
        let setpoints_c: Vec<f64> = (0..zones).map(|zone| self.controls.setpoint_c(zone)).collect();
        let load = Load {
            evaporated_kg: &evaporated_kg,
            steam_kg_h: self.steam_kg_h(),
            exhaust_kg_h: &exhaust_kg_h,
            setpoints_c: &setpoints_c,
            burners: !self.controls.holds(Held::Burners),
            outside: self.outside,
        };
        self.air.step(&self.oven, &load, STEP_S, &mut self.process);
    }
}

fn bake(product: &Product) -> Bake {
    Bake {
        table: DryingTable::new(&product.drying),
        bake_time_s: product.bake_time_min * 60.0,
        bake_loss: product.bake_loss,
    }
}

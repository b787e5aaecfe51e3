//! Where the controls of a line stand: band, dampers, steam, setpoints, and who is at them.

use rand::Rng;
use rand_distr::StandardNormal;

use crate::crew::Crew;
use crate::motion::Ramp;
use crate::oven::{Means, Oven};
use crate::plan::{Action, Held, SETTING_S};
use crate::product::Product;
use crate::sensor::Fault;
use crate::tag::Tag;

/// How fast a steam valve opens and shuts, s.
const STEAM_VALVE_S: f64 = 15.0;

#[derive(Debug, Clone)]
pub(crate) struct Controls {
    pub(crate) product: usize,
    rate: f64,
    /// The rate, over that of the run, that the crew has set the oven for.
    vented_for: f64,
    means: Means,
    speed: Ramp,
    band_scale: Ramp,
    pub(crate) speed_tag_scale: Ramp,
    steam_set: Ramp,
    steam_scale: Ramp,
    steam_valve: Ramp,
    dampers: Vec<Ramp>,
    damper_shifts: Vec<Ramp>,
    setpoints: Vec<Ramp>,
    temperature_shifts: Vec<Ramp>,
    pub(crate) make_up_shift: Ramp,
    holds: Vec<Held>,
    faults: Vec<(usize, Option<Tag>, Fault, f64)>,
}

impl Controls {
    /// Controls of an oven that has been baking this by the book.
    pub(crate) fn baking(oven: &Oven, products: &[Product], product: usize, rate: f64) -> Self {
        let settings = oven.hold(&products[product], rate, Means::Dampers);
        let openings = settings.exhaust_kg_h.iter().enumerate().map(|(zone, flow)| oven.opening_for(zone, *flow));
        let setpoints = oven.temperatures_c(&products[product]);
        let nothing = vec![Ramp::at(0.0); oven.zones()];
        Self {
            product,
            rate,
            vented_for: 1.0,
            means: Means::Dampers,
            speed: Ramp::at(oven.nominal_speed(&products[product]) * rate),
            band_scale: Ramp::at(1.0),
            speed_tag_scale: Ramp::at(1.0),
            steam_set: Ramp::at(settings.steam_kg_h),
            steam_scale: Ramp::at(1.0),
            steam_valve: Ramp::at(1.0),
            dampers: openings.map(Ramp::at).collect(),
            damper_shifts: nothing.clone(),
            setpoints: setpoints.into_iter().map(Ramp::at).collect(),
            temperature_shifts: nothing,
            make_up_shift: Ramp::at(0.0),
            holds: vec![],
            faults: vec![],
        }
    }

    /// Band speed, m/s.
    pub(crate) fn band_speed(&self) -> f64 {
        match self.holds(Held::Band) {
            true => 0.0,
            false => self.speed.value() * self.band_scale.value(),
        }
    }

    pub(crate) fn steam_kg_h(&self) -> f64 {
        self.steam_set.value() * self.steam_scale.value() * self.steam_valve.value()
    }

    pub(crate) fn damper(&self, zone: usize) -> f64 {
        (self.dampers[zone].value() + self.damper_shifts[zone].value()).clamp(0.0, 1.0)
    }

    pub(crate) fn setpoint_c(&self, zone: usize) -> f64 {
        self.setpoints[zone].value() + self.temperature_shifts[zone].value()
    }

    pub(crate) fn holds(&self, held: Held) -> bool {
        self.holds.contains(&held)
    }

    /// The faults that touch a signal, each with the time (s) at which it began.
    pub(crate) fn faults(&self, tag: Tag) -> impl Iterator<Item = (Fault, f64)> {
        self.faults
            .iter()
            .filter(move |(_, of, ..)| of.is_none_or(|of| of == tag))
            .map(|(_, _, fault, since)| (*fault, *since))
    }

    pub(crate) fn step(&mut self, step_s: f64) {
        let single = [
            &mut self.speed,
            &mut self.band_scale,
            &mut self.speed_tag_scale,
            &mut self.steam_set,
            &mut self.steam_scale,
            &mut self.steam_valve,
            &mut self.make_up_shift,
        ];
        let per_zone = [&mut self.dampers, &mut self.damper_shifts, &mut self.setpoints, &mut self.temperature_shifts];
        for ramp in single.into_iter().chain(per_zone.into_iter().flatten()) {
            ramp.step(step_s);
        }
    }

    /// Does what the plan says at this time (s).
    pub(crate) fn apply(&mut self, action: &Action, now_s: f64, hands: &mut Hands<'_, impl Rng>) {
        match *action {
            Action::Bake { product, rate } => {
                self.product = product;
                self.rate = rate;
                let product = &hands.products[product];
                self.speed.go_to(hands.oven.nominal_speed(product) * rate, SETTING_S);
                for (ramp, wanted) in self.setpoints.iter_mut().zip(hands.oven.temperatures_c(product)) {
                    ramp.go_to(wanted, SETTING_S);
                }
                self.set(SETTING_S, hands);
            }
            Action::Hold(held) => {
                self.holds.push(held);
                self.turn_steam();
            }
            Action::Release(held) => {
                if let Some(at) = self.holds.iter().position(|other| *other == held) {
                    self.holds.swap_remove(at);
                }
                self.turn_steam();
            }
            Action::ScaleBand { by, over_s } => self.band_scale.scale(by, over_s),
            Action::ScaleSpeedTag { by, over_s } => self.speed_tag_scale.scale(by, over_s),
            Action::ScaleSteam { by, over_s } => self.steam_scale.scale(by, over_s),
            Action::ScaleVenting { by, over_s, means } => {
                self.vented_for *= by;
                self.means = means;
                self.set(over_s, hands);
            }
            Action::ShiftDamper { zone, by, over_s } => self.damper_shifts[zone].shift(by, over_s),
            Action::ShiftTemperature { zone, by_c, over_s } => {
                self.temperature_shifts[zone].shift(by_c, over_s);
            }
            Action::ShiftMakeUp { by, over_s } => self.make_up_shift.shift(by, over_s),
            Action::BeginFault { id, tag, fault } => self.faults.push((id, tag, fault, now_s)),
            Action::EndFault { id } => self.faults.retain(|(other, ..)| *other != id),
        }
    }

    fn turn_steam(&mut self) {
        let open = if self.holds(Held::Steam) { 0.0 } else { 1.0 };
        self.steam_valve.go_to(open, STEAM_VALVE_S);
    }

    /// The crew sets dampers and steam for the product and rate, in its own way and never twice
    /// quite the same.
    pub(crate) fn set(&mut self, over_s: f64, hands: &mut Hands<'_, impl Rng>) {
        let product = &hands.products[self.product];
        let settings = hands.oven.hold(product, self.rate * self.vented_for, self.means);
        let Hands { oven, crew, rng, .. } = hands;
        let mut scatter = |share: f64| (crew.scatter * share * rng.sample::<f64, _>(StandardNormal)).exp();
        for (zone, (ramp, flow)) in self.dampers.iter_mut().zip(settings.exhaust_kg_h).enumerate() {
            let drawn = flow * crew.venting * scatter(1.0);
            ramp.go_to(oven.opening_for(zone, drawn), over_s);
        }
        self.steam_set.go_to(settings.steam_kg_h * crew.steam * scatter(0.5), over_s);
    }
}

/// Who moves the controls, and of what.
pub(crate) struct Hands<'a, R> {
    pub(crate) oven: &'a Oven,
    pub(crate) products: &'a [Product],
    pub(crate) crew: &'a Crew,
    pub(crate) rng: &'a mut R,
}

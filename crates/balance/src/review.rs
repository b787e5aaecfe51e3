//! A rate change, reviewed before it is made: what the oven will hold, how likely moisture is carried over, what else
//! could be done and what that costs, and the highest speed that the oven carries.

mod carried;
mod ceiling;
mod money;
mod open_exhaust;
mod profile;
mod rank;
mod remedies;
mod remedy;

use normal_profile::Normal;
use serde::Serialize;

use crate::balance::Balance;
use crate::running::Running;

pub use carried::Carried;
pub use ceiling::Ceiling;
pub use money::{Energy, NOT_CONFIGURED, Prices};
pub use profile::{Profile, ZoneProfile};
pub use remedy::{Remedy, RemedyKind, Setting, ZoneAlone};

/// Moisture is carried over if a late zone is above its ceiling; a speed is carried if the chance of it is no greater.
pub const ALLOWED_CHANCE: f64 = 0.15;
/// What goes with every review.
pub const CAUTION: &str = "Advice only. Exhaust, burner and steam settings belong to the oven maker's limits, the plant's \
    licensed people and local codes; whether bread is baked through is validated elsewhere, never read off humidity.";

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// The learned balance.
    pub balance: &'a Balance,
    /// The learned normal of the same product, if one is in use: the other, independent answer.
    pub normal: Option<&'a Normal>,
    /// Band speed asked for, m/min, above 0.
    pub speed_m_min: f64,
    /// The product's hard limit for zone 3, % vol.
    pub zone3_limit_pct: Option<f64>,
    /// Length of band under steam, m.
    pub steam_section_m: Option<f64>,
    /// What energy, output and capital are worth.
    pub prices: &'a Prices,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Review {
    /// Which balance gave it, such as `tunnel-1/T800/3`.
    pub balance: String,
    /// The normal it is held against.
    pub normal: Option<String>,
    /// Band speed asked for, m/min.
    pub speed_m_min: f64,
    /// Time in the oven at that speed, min.
    pub bake_time_min: f64,
    /// The usual speed: the middle of history, m/min.
    pub usual_speed_m_min: f64,
    /// By how much the speed lies outside the balance's history, %.
    pub outside_history_pct: f64,
    /// By how much it lies outside the normal's speeds, %.
    pub outside_normal_pct: Option<f64>,
    /// At the usual speed, as usually run.
    pub usual: Profile,
    /// At the speed asked for, nothing touched but the band.
    pub untouched: Profile,
    /// At the speed asked for, dampers and steam as the crews in history would have them.
    pub practised: Profile,
    /// The learned normal's own answer at that speed, of how the oven is run when it is run well.
    pub by_normal: Option<Vec<ZoneProfile>>,
    /// Late zones and what they may hold.
    pub ceilings: Vec<Ceiling>,
    /// Time that dough meets the steam at that speed, s.
    pub steam_exposure_s: Option<f64>,
    /// The highest speeds that this oven carries.
    pub carried: Carried,
    /// What can be done, best first.
    pub remedies: Vec<Remedy>,
    /// What the history cannot tell, in words.
    pub untold: Vec<String>,
    /// What is not configured, and what would be shown with it.
    pub not_configured: Vec<String>,
    /// What goes with it.
    pub caution: &'static str,
}

/// Reviews a rate change.
#[must_use]
pub fn review(question: &Question<'_>) -> Review {
    let desk = Desk::new(question);
    let usual = desk.profile(&desk.usual(), question.balance);
    let untouched = desk.profile(&desk.untouched(), question.balance);
    let record = question.balance.record();
    let by_normal = question.normal.map(|normal| profile::by_normal(normal, question.speed_m_min));
    Review {
        balance: question.balance.key().to_string(),
        normal: question.normal.map(|normal| normal.key().to_string()),
        speed_m_min: question.speed_m_min,
        bake_time_min: record.oven.bake_time_min(question.speed_m_min),
        usual_speed_m_min: record.usual.speed_m_min,
        outside_history_pct: question.balance.outside_pct(question.speed_m_min),
        outside_normal_pct: by_normal.as_ref().map(|(_, outside)| *outside),
        practised: desk.profile(&record.usual.practised(question.speed_m_min), question.balance),
        by_normal: by_normal.map(|(zones, _)| zones),
        steam_exposure_s: question.steam_section_m.map(|section| 60.0 * section / question.speed_m_min),
        carried: carried::carried(&desk),
        remedies: rank::ranked(remedies::all(&desk, &usual, &untouched), &usual),
        usual,
        untouched,
        ceilings: desk.ceilings,
        untold: record.untold.iter().map(ToString::to_string).collect(),
        not_configured: question.prices.missing(),
        caution: CAUTION,
    }
}

/// The question with what every part of the answer needs.
struct Desk<'a> {
    question: &'a Question<'a>,
    ceilings: Vec<Ceiling>,
    /// The same by zone, for the balance.
    limits: Vec<Option<f64>>,
}

impl<'a> Desk<'a> {
    fn new(question: &'a Question<'a>) -> Self {
        let ceilings = ceiling::ceilings(question);
        let zones = question.balance.record().oven.zones_m.len();
        let of_zone =
            |zone| ceilings.iter().find(|ceiling| ceiling.zone == zone + 1).map(|ceiling| ceiling.moisture_pct);
        let limits = (0..zones).map(of_zone).collect();
        Self { question, ceilings, limits }
    }

    fn usual(&self) -> Running {
        let usual = &self.question.balance.record().usual;
        usual.untouched(usual.speed_m_min)
    }

    fn untouched(&self) -> Running {
        self.question.balance.record().usual.untouched(self.question.speed_m_min)
    }

    fn chance(&self, running: &Running, balance: &Balance) -> f64 {
        balance.predict(running).chance_above(&self.limits)
    }

    fn profile(&self, running: &Running, balance: &Balance) -> Profile {
        Profile::new(balance, running, &self.limits, self.question.prices)
    }
}

/// The least x from 0 to 1 at which `holds`, which holds from some x on; none if not even at 1.
fn least(holds: impl Fn(f64) -> bool) -> Option<f64> {
    if !holds(1.0) {
        return None;
    }
    let (mut fails, mut does) = (0.0, 1.0);
    for _ in 0..14 {
        let middle = 0.5 * (fails + does);
        if holds(middle) { does = middle } else { fails = middle }
    }
    Some(does)
}

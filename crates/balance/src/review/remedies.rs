//! Each remedy taken as far as it must go, or as far as it can.

use super::open_exhaust::open_exhaust;
use super::profile::Profile;
use super::remedy::{Remedy, RemedyKind, Setting, ZoneAlone};
use super::{ALLOWED_CHANCE, Desk, least};
use crate::balance::Balance;
use crate::running::Running;

/// How far each goes at most. Steam is left at three tenths, below which a crust is no longer steamed; temperatures
/// rise by what crusts bear; an oven grows by half (all common practice).
const LEAST_STEAM: f64 = 0.3;
const MOST_KELVIN: f64 = 15.0;
const MOST_LONGER: f64 = 0.5;

pub(super) fn all(desk: &Desk<'_>, usual: &Profile, untouched: &Profile) -> Vec<Remedy> {
    let found =
        [shorten_steam(desk), Some(open_exhaust(desk)), slow_band(desk), Some(raise_temperature(desk)), add_zone(desk)];
    let counted = |found: Found| found.count(desk, usual, untouched);
    found.into_iter().flatten().map(counted).collect()
}

/// A remedy before its money is counted.
pub(super) struct Found {
    pub(super) kind: RemedyKind,
    pub(super) settings: Vec<Setting>,
    pub(super) zones_alone: Vec<ZoneAlone>,
    pub(super) profile: Profile,
    pub(super) further_metres: Option<f64>,
}

impl Found {
    fn count(self, desk: &Desk<'_>, usual: &Profile, untouched: &Profile) -> Remedy {
        let prices = desk.question.prices;
        let lost_t_h = untouched.energy.good_t_h - self.profile.energy.good_t_h;
        let capital = match self.further_metres {
            Some(metres) => prices.zone_per_m.map(|price| price * metres),
            None => Some(0.0),
        };
        let capital_per_year = match capital {
            Some(0.0) => Some(0.0),
            _ => capital.zip(prices.capital_years).map(|(capital, years)| capital / years),
        };
        let gain_per_h =
            self.profile.energy.earned_per_h().zip(usual.energy.earned_per_h()).map(|(new, old)| new - old);
        let gain = gain_per_h.zip(prices.hours_per_year).map(|(gain, hours)| gain * hours);
        Remedy {
            suffices: suffices(&self.profile),
            further_kwh_h: self.profile.energy.bought_kwh_h - untouched.energy.bought_kwh_h,
            lost_t_h,
            lost_margin_per_h: prices.margin_per_tonne.map(|margin| margin * lost_t_h),
            capital,
            capital_per_year,
            net_gain_per_year: gain.zip(capital_per_year).map(|(gain, capital)| gain - capital),
            reason: String::new(),
            caution: self.kind.caution(),
            kind: self.kind,
            settings: self.settings,
            zones_alone: self.zones_alone,
            profile: self.profile,
        }
    }
}

/// Half of a tenth of a percent is given to the search for the least that suffices.
pub(super) fn suffices(profile: &Profile) -> bool {
    profile.carryover_chance_pct <= 100.0 * ALLOWED_CHANCE + 0.05
}

/// As little as suffices of `running(0..1)`; all of it where that does not suffice.
pub(super) fn enough(desk: &Desk<'_>, balance: &Balance, running: impl Fn(f64) -> Running) -> (f64, Running) {
    let amount = least(|amount| desk.chance(&running(amount), balance) <= ALLOWED_CHANCE).unwrap_or(1.0);
    (amount, running(amount))
}

/// None where there is no steam.
fn shorten_steam(desk: &Desk<'_>) -> Option<Found> {
    let balance = desk.question.balance;
    let steam = balance.best().usual_steam_kg_h;
    if steam <= 0.0 {
        return None;
    }
    let (_, running) =
        enough(desk, balance, |amount| Running { steam_ratio: 1.0 - amount * (1.0 - LEAST_STEAM), ..desk.untouched() });
    let setting = Setting { zone: None, of: "steam, kg/h", from: steam, to: steam * running.steam_ratio };
    Some(Found {
        kind: RemedyKind::ShortenSteam,
        settings: vec![setting],
        zones_alone: Vec::new(),
        profile: desk.profile(&running, balance),
        further_metres: None,
    })
}

/// None where the speed asked for is not above the usual one.
fn slow_band(desk: &Desk<'_>) -> Option<Found> {
    let balance = desk.question.balance;
    let (asked, usual) = (desk.question.speed_m_min, balance.record().usual.speed_m_min);
    if asked <= usual {
        return None;
    }
    let at = |amount: f64| balance.record().usual.untouched(asked - amount * (asked - usual));
    let (_, running) = enough(desk, balance, at);
    let setting = Setting { zone: None, of: "band speed, m/min", from: asked, to: running.speed_m_min };
    Some(Found {
        kind: RemedyKind::SlowBand,
        settings: vec![setting],
        zones_alone: Vec::new(),
        profile: desk.profile(&running, balance),
        further_metres: None,
    })
}

/// All zones hotter alike.
fn raise_temperature(desk: &Desk<'_>) -> Found {
    let balance = desk.question.balance;
    let hotter = |amount: f64| {
        let mut running = desk.untouched();
        running.temperatures_c.iter_mut().for_each(|celsius| *celsius += amount * MOST_KELVIN);
        running
    };
    let (_, running) = enough(desk, balance, hotter);
    let before = desk.untouched().temperatures_c;
    let setting = |(zone, (from, to)): (usize, (&f64, &f64))| Setting {
        zone: Some(zone + 1),
        of: "air temperature, degC",
        from: *from,
        to: *to,
    };
    let settings = before.iter().zip(&running.temperatures_c).enumerate().map(setting).collect();
    Found {
        kind: RemedyKind::RaiseTemperature,
        settings,
        zones_alone: Vec::new(),
        profile: desk.profile(&running, balance),
        further_metres: None,
    }
}

/// The oven longer, each zone and its exhaust alike; none where the speed asked for is not above the usual one.
fn add_zone(desk: &Desk<'_>) -> Option<Found> {
    let balance = desk.question.balance;
    if desk.question.speed_m_min <= balance.record().usual.speed_m_min {
        return None;
    }
    let longer = |amount: f64| balance.lengthened(1.0 + amount * MOST_LONGER);
    let amount = least(|amount| desk.chance(&desk.untouched(), &longer(amount)) <= ALLOWED_CHANCE).unwrap_or(1.0);
    let length_m = balance.record().oven.length_m();
    let metres = length_m * amount * MOST_LONGER;
    let setting = Setting { zone: None, of: "length of the oven, m", from: length_m, to: length_m + metres };
    Some(Found {
        kind: RemedyKind::AddZone,
        settings: vec![setting],
        zones_alone: Vec::new(),
        profile: desk.profile(&desk.untouched(), &longer(amount)),
        further_metres: Some(metres),
    })
}

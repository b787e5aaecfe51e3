//! The exhaust opened: of all late zones together, of each alone, and as far as it goes.

use physics::units::{Celsius, HumidityRatio};

use super::Desk;
use super::remedies::{Found, enough, suffices};
use super::remedy::{RemedyKind, Setting, ZoneAlone};
use crate::balance::Balance;
use crate::exhaust::Draught;
use crate::learned::Learned;
use crate::running::Running;
use crate::settings::Ambient;
use crate::water::WaterBalance;

/// A damper is left a little short of open; a fan without a damper signal is asked for no more than this (both common
/// practice).
const WIDEST_OPENING: f64 = 0.95;
const MOST_DRAUGHT: f64 = 1.6;

/// Zones from the second on draw as much more as holds their usual humidity, or part of it.
pub(super) fn open_exhaust(desk: &Desk<'_>) -> Found {
    let balance = desk.question.balance;
    let (record, best) = (balance.record(), balance.best());
    let usual = balance.predict(&desk.usual());
    let humidity: Vec<HumidityRatio> = usual.states.iter().map(|zone| zone.humidity).collect();
    let temperatures: Vec<Celsius> = record.usual.temperatures_c.iter().map(|t| Celsius(*t)).collect();
    let drawn: Vec<f64> = best.exhaust.iter().map(|exhaust| exhaust.usual_kg_h).collect();
    let ambient = Ambient::holding(record.usual.ambient_humidity());
    let water = WaterBalance::new(&record.oven, &record.bake, &best.parameters, ambient);
    let speed = desk.question.speed_m_min;
    let held = water.map(|water| water.exhaust_to_hold(speed, &humidity, &temperatures, best.usual_steam_kg_h, 1.0));
    let held = held.unwrap_or_else(|_| drawn.clone());
    let opened = |amount: f64| {
        let draught = |zone: usize| {
            // Twice what holds the usual humidity at most: a late zone may have to make up for its neighbour.
            let more = if zone == 0 { 0.0 } else { 2.0 * amount * (held[zone] - drawn[zone]).max(0.0) };
            match best.exhaust[zone].draught_for(drawn[zone] + more, &best.damper) {
                Draught::Opening(opening) => Draught::Opening(opening.min(WIDEST_OPENING)),
                _ => Draught::Ratio(((drawn[zone] + more) / drawn[zone]).min(MOST_DRAUGHT)),
            }
        };
        Running { draught: (0..drawn.len()).map(draught).collect(), ..desk.untouched() }
    };
    let (_, running) = enough(desk, balance, opened);
    let moved =
        |zone: usize| Some(draught_setting(best, zone, &running)).filter(|setting| setting.to - setting.from > 0.5);
    Found {
        kind: RemedyKind::OpenExhaust,
        settings: (0..drawn.len()).filter_map(moved).collect(),
        zones_alone: (1..drawn.len()).filter_map(|zone| open_alone(desk, zone)).collect(),
        profile: desk.profile(&running, balance),
        further_metres: None,
    }
}

/// The exhaust of one zone opened, and no other; none where it is open already.
fn open_alone(desk: &Desk<'_>, zone: usize) -> Option<ZoneAlone> {
    let balance = desk.question.balance;
    let untouched = desk.untouched();
    let opened = |amount: f64| {
        let mut running = untouched.clone();
        running.draught[zone] = match running.draught[zone] {
            Draught::Opening(opening) => Draught::Opening(opening + amount * (WIDEST_OPENING - opening).max(0.0)),
            _ => Draught::Ratio(1.0 + amount * (MOST_DRAUGHT - 1.0)),
        };
        running
    };
    let (_, running) = enough(desk, balance, opened);
    let setting = draught_setting(balance.best(), zone, &running);
    if setting.to - setting.from <= 0.5 {
        return None;
    }
    let (profile, before) = (desk.profile(&running, balance), desk.profile(&untouched, balance));
    Some(ZoneAlone {
        setting,
        moisture_pct: profile.zones.iter().map(|zone| zone.moisture_pct).collect(),
        carryover_chance_pct: profile.carryover_chance_pct,
        suffices: suffices(&profile),
        further_kwh_h: profile.energy.bought_kwh_h - before.energy.bought_kwh_h,
    })
}

/// What is to be set at a zone's exhaust, from what it usually is: a damper where one is known.
fn draught_setting(best: &Learned, zone: usize, running: &Running) -> Setting {
    let exhaust = &best.exhaust[zone];
    let (of, from, to) = match (exhaust.usual_opening, running.draught[zone]) {
        (Some(from), Draught::Opening(to)) => ("damper, %", 100.0 * from, 100.0 * to),
        (_, to) => ("exhaust, % of usual", 100.0, 100.0 * exhaust.draws_kg_h(to, &best.damper) / exhaust.usual_kg_h),
    };
    Setting { zone: Some(zone + 1), of, from, to }
}

/// Nothing touched but the band and the exhaust, which is open in every zone but the first.
pub(super) fn widest(balance: &Balance, speed_m_min: f64) -> Running {
    let mut running = balance.record().usual.untouched(speed_m_min);
    for draught in running.draught.iter_mut().skip(1) {
        *draught = match draught {
            Draught::Opening(opening) => Draught::Opening(opening.max(WIDEST_OPENING)),
            Draught::Ratio(_) | Draught::Practised(_) => Draught::Ratio(MOST_DRAUGHT),
        };
    }
    running
}

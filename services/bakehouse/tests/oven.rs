//! What the simulated ovens do: profile, drying, rate changes, gaps, and that no water is lost.
#![allow(clippy::unwrap_used)]

mod recording;

use bakehouse::{Bakery, Crew, Fault, RateChange, Response, Run, Schedule, Shift, Tag, What};
use chrono::TimeDelta;
use recording::{Recording, minutes, oven_of, simulation, start};

/// A rise at 30 min that lasts beyond the recording of 90 min.
fn after_rise(by_pct: f64, response: Response) -> Recording {
    let rise = RateChange::sudden(by_pct, minutes(240.0), response);
    let schedule = Schedule::quiet().with("tunnel-1", start() + minutes(30.0), What::RateChange(rise));
    Recording::of(&mut simulation(&oven_of(4), &schedule, 5), minutes(95.0))
}

/// Magnitudes of a healthy profile for steamed bread: common practice.
#[test]
fn the_profile_is_a_healthy_one_in_ovens_of_3_to_8_zones() {
    for zones in 3..=8 {
        for product in ["T800", "B400", "R060"] {
            let schedule = Schedule::quiet().with("tunnel-1", start(), What::Run(Run::nominal(product)));
            let seen = Recording::of(&mut simulation(&oven_of(zones), &schedule, 3), minutes(35.0));
            let moisture = |zone| seen.mean(&format!("z{zone}/moisture"), 15.0, 35.0);
            let (first, second, third) = (moisture(1), moisture(2), moisture(3));
            assert!((35.0..50.0).contains(&first), "{product}, {zones} zones: zone 1 holds {first}");
            assert!((0.4..0.6).contains(&(second / first)), "{product}, {zones} zones: zone 2 holds {second}");
            assert!((7.5..12.0).contains(&third), "{product}, {zones} zones: zone 3 holds {third}");
            for zone in 4..=zones {
                assert!(moisture(zone) < 8.0, "{product}, {zones} zones: zone {zone} holds {}", moisture(zone));
            }
            for zone in 1..=zones {
                let air = seen.mean(&format!("z{zone}/temp"), 15.0, 35.0);
                assert!((180.0..250.0).contains(&air), "{product}, {zones} zones: zone {zone} at {air}");
            }
            let steam = seen.mean("steam", 15.0, 35.0);
            assert!((100.0..250.0).contains(&steam), "{product}, {zones} zones: steam {steam}");
        }
    }
}

#[test]
fn dew_point_probes_show_a_steamed_zone_1() {
    let mut millbrook = simulation(&Bakery::millbrook_single(), &Schedule::quiet(), 3);
    let seen = Recording::of(&mut millbrook, minutes(60.0));
    let dew = seen.mean("z1/dew", 0.0, 60.0);
    assert!((73.0..82.0).contains(&dew), "{dew}");
}

#[test]
fn an_unmatched_rise_leaves_moisture_in_the_late_zones() {
    let seen = after_rise(10.0, Response::NoVenting);
    assert!((seen.ratio("band") - 1.10).abs() < 0.002);
    let (second, third, fourth) = (seen.ratio("z2/moisture"), seen.ratio("z3/moisture"), seen.ratio("z4/moisture"));
    assert!(third > 1.12, "zone 3 gains more than the band: {third}");
    assert!(second < 1.08 && second < third && third < fourth, "late zones gain most: {second} {third} {fourth}");
    assert!((seen.ratio("z2/damper") - 1.0).abs() < 0.002);
}

#[test]
fn a_matched_rise_holds_the_profile() {
    for response in [Response::Dampers, Response::Steam] {
        let seen = after_rise(if response == Response::Steam { 5.0 } else { 10.0 }, response);
        for zone in 1..=4 {
            let ratio = seen.ratio(&format!("z{zone}/moisture"));
            assert!((ratio - 1.0).abs() < 0.06, "{response:?}: zone {zone} at {ratio}");
        }
        assert!(seen.ratio("z3/damper") > 1.02, "{response:?}");
    }
}

#[test]
fn half_and_late_venting_lie_between() {
    let none = after_rise(12.0, Response::NoVenting).ratio("z3/moisture");
    let half = after_rise(12.0, Response::HalfVenting).ratio("z3/moisture");
    let full = after_rise(12.0, Response::Dampers).ratio("z3/moisture");
    assert!(full + 0.03 < half && half + 0.03 < none, "{full} {half} {none}");
    let late = after_rise(12.0, Response::LateVenting { after: TimeDelta::minutes(25) });
    let third = |from, to| late.mean("z3/moisture", from, to) / late.mean("z3/moisture", 0.0, 25.0);
    assert!(third(48.0, 54.0) > 1.10 && third(75.0, 90.0) < 1.06, "{} {}", third(48.0, 54.0), third(75.0, 90.0));
}

#[test]
fn starved_steam_takes_the_peak_down() {
    let seen = after_rise(10.0, Response::SteamStarved { by_pct: 20.0 });
    assert!((seen.ratio("steam") - 0.8).abs() < 0.03, "{}", seen.ratio("steam"));
    assert!(seen.ratio("z1/moisture") < 0.93, "{}", seen.ratio("z1/moisture"));
    assert!(seen.ratio("z4/moisture") > 1.08, "{}", seen.ratio("z4/moisture"));
}

#[test]
fn a_lying_speed_tag_moves_no_zone() {
    let seen = after_rise(10.0, Response::LyingSpeedTag);
    assert!((seen.ratio("band") - 1.10).abs() < 0.002);
    for zone in 1..=4 {
        let ratio = seen.ratio(&format!("z{zone}/moisture"));
        assert!((ratio - 1.0).abs() < 0.03, "zone {zone} at {ratio}");
    }
}

#[test]
fn a_slow_crew_vents_late() {
    let mut bakery = oven_of(4);
    bakery.lines[0].crews = Crew::three().into_iter().map(|crew| crew.reacting_within(1200.0..1201.0)).collect();
    let rise = RateChange::sudden(10.0, minutes(240.0), Response::Dampers);
    let schedule = Schedule::quiet().with("tunnel-1", start() + minutes(30.0), What::RateChange(rise));
    let seen = Recording::of(&mut simulation(&bakery, &schedule, 5), minutes(95.0));
    assert!((seen.mean("z3/damper", 31.0, 49.0) / seen.mean("z3/damper", 20.0, 29.0) - 1.0).abs() < 0.01);
    assert!(seen.ratio("z3/damper") > 1.05);
}

/// A gap that enters at 30 min reaches zone 3 half a bake of 24 min later.
#[test]
fn a_gap_passes_zone_3_half_a_bake_later() {
    let gap = What::Gap { lasts: TimeDelta::seconds(180) };
    let schedule = Schedule::quiet().with("tunnel-1", start() + minutes(30.0), gap);
    let seen = Recording::of(&mut simulation(&oven_of(4), &schedule, 5), minutes(90.0));
    let zone_3 = |from, to| seen.mean("z3/moisture", from, to) / seen.mean("z3/moisture", 10.0, 29.0);
    assert!(zone_3(38.0, 41.0) > 0.97, "before it comes: {}", zone_3(38.0, 41.0));
    let dip = zone_3(44.0, 48.0);
    assert!(dip < 0.90, "while it passes: {dip}");
    assert!(dip < zone_3(35.0, 39.0) && dip < zone_3(54.0, 58.0), "lowest while it passes");
    assert!((zone_3(65.0, 90.0) - 1.0).abs() < 0.03, "afterwards: {}", zone_3(65.0, 90.0));
    assert_eq!(seen.mean("feed", 30.2, 32.9), 0.0);
    assert_eq!(seen.mean("feed", 33.3, 60.0), 1.0);
}

#[test]
fn no_water_is_lost() {
    let at = |after| start() + minutes(after);
    let schedule = Schedule::quiet()
        .with("tunnel-1", at(20.0), What::RateChange(RateChange::sudden(15.0, minutes(50.0), Response::NoVenting)))
        .with("tunnel-1", at(40.0), What::Gap { lasts: minutes(3.0) })
        .with("tunnel-1", at(90.0), What::Stop { lasts: minutes(12.0) })
        .with("tunnel-1", at(120.0), What::Changeover { to: Run::nominal("R060"), empty_for: minutes(20.0) });
    let mut simulation = simulation(&oven_of(4), &schedule, 5);
    Recording::of(&mut simulation, minutes(240.0));
    let water = simulation.water(0).unwrap();
    let entered = water.evaporated_kg + water.steam_kg + water.combustion_kg + water.make_up_kg;
    let kept = water.exhausted_kg + water.stored_kg - water.at_start_kg;
    assert!(entered > 500.0, "{water:?}");
    assert!((entered / kept - 1.0).abs() < 1e-3, "{entered} kg entered, {kept} kg were found: {water:?}");
}

#[test]
fn dough_loses_its_bake_loss_in_the_oven() {
    let mut simulation = simulation(&oven_of(4), &Schedule::quiet(), 5);
    Recording::of(&mut simulation, minutes(180.0));
    let (baked, water) = (simulation.baked(0).unwrap(), simulation.water(0).unwrap());
    let loss = baked.lost_kg / baked.dough_kg;
    assert!((loss / 0.105 - 1.0).abs() < 0.005, "tin loaf loses {loss}");
    assert!((baked.dough_kg / (13.0 * 28.0 / 24.0 * 180.0) - 1.0).abs() < 0.01, "{baked:?}");
    assert!((water.evaporated_kg / baked.lost_kg - 1.0).abs() < 0.01, "what dough loses, air gains: {water:?}");
}

#[test]
fn a_shift_of_the_oven_shows_where_it_happens() {
    let shifted = |shift| {
        let what = What::Disturbance { shift, over: minutes(10.0), lasts: minutes(240.0) };
        let schedule = Schedule::quiet().with("tunnel-1", start() + minutes(30.0), what);
        Recording::of(&mut simulation(&oven_of(4), &schedule, 5), minutes(95.0))
    };
    let damper = shifted(Shift::Damper { zone: 3, by_pct: -8.0 });
    assert!((damper.mean("z3/damper", 60.0, 90.0) - damper.mean("z3/damper", 0.0, 25.0) + 8.0).abs() < 0.5);
    assert!(damper.ratio("z3/moisture") > 1.15 && damper.ratio("z1/moisture") < 1.03);
    assert!(shifted(Shift::Steam { by_pct: -25.0 }).ratio("z1/moisture") < 0.92);
    let hot = shifted(Shift::Temperature { zone: 2, by_c: 12.0 });
    assert!(hot.mean("z2/temp", 60.0, 90.0) - hot.mean("z2/temp", 0.0, 25.0) > 8.0);
    assert!(shifted(Shift::MakeUpHumidity { by: 0.005 }).ratio("z4/moisture") > 1.05);
}

#[test]
fn sensors_fail_as_told() {
    let fault = |tag, fault| {
        let what = What::Fault { tag: Some(tag), fault, lasts: minutes(30.0) };
        let schedule = Schedule::quiet().with("tunnel-1", start() + minutes(30.0), what);
        Recording::of(&mut simulation(&oven_of(4), &schedule, 5), minutes(90.0))
    };
    let between = |seen: &Recording, signal: &str, from, to| -> Vec<f64> {
        seen.series(signal).iter().filter(|(at, _)| *at > from && *at < to).map(|(_, value)| *value).collect()
    };
    let frozen = fault(Tag::Humidity(3), Fault::Freeze);
    let values = between(&frozen, "z3/moisture", 30.2, 59.8);
    assert!(values.iter().all(|value| *value == values[0]), "frozen");
    let values = between(&frozen, "z3/moisture", 61.0, 89.0);
    assert!(values.iter().any(|value| *value != values[0]), "alive again");

    let lost = fault(Tag::Temperature(2), Fault::Dropout);
    assert!(between(&lost, "z2/temp", 30.2, 59.8).is_empty());
    assert!(!between(&lost, "z1/temp", 30.2, 59.8).is_empty(), "no other signal is lost");

    let drifting = fault(Tag::Temperature(1), Fault::Drift { per_hour: 60.0 });
    let drift = drifting.mean("z1/temp", 57.0, 59.5) - drifting.mean("z1/temp", 20.0, 29.0);
    assert!((drift - 28.2).abs() < 3.0, "{drift}");
}

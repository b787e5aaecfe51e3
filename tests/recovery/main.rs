//! What is learned of invented ovens, held against what is true of them.
//!
//! The simulation has a model of its own. Comparable are: the exhaust of a zone at the usual opening, the air that zones
//! swap, the share of steam that drifts, the loss through the walls, form and time of the drying curve; and above all
//! what the probes show at a speed never run. Not comparable is the power of a damper's opening: the simulated damper is
//! a turning disc and no power; nor what one hour's weather brings.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

mod history;

use bakehouse::{Bakery, OvenTruth};
use balance::{Balance, FitSettings, SteadyBlock, Unknown, inputs, learn_balance, steady_blocks};
use history::Days;
use normal_profile::NormalKey;
use physics::air::moisture_from_humidity_ratio;
use physics::units::HumidityRatio;

/// Replicates: enough for an interval of 90 of 100, few enough for a build that is not optimised.
const FIT: FitSettings = FitSettings { seed: 1, replicates: 40 };
/// Speeds of history end at about 1.16 times nominal.
const BEYOND: f64 = 1.28;

fn learn(days: &Days, code: &str) -> (Balance, Vec<SteadyBlock>) {
    let (line, product) = (&days.plant.lines[0], days.plant.product(code).unwrap());
    let (oven, bake) = inputs(line, product).unwrap();
    let blocks = steady_blocks(days.history(), code, oven.length_m());
    let key = NormalKey { site: "millbrook".into(), line: "tunnel-1".into(), product: code.into(), version: 1 };
    let balance = learn_balance(key, &oven, &bake, &blocks, FIT).unwrap();
    (balance, steady_blocks(days.trial(), code, oven.length_m()))
}

/// How many of how many.
#[derive(Default)]
struct Count {
    held: usize,
    of: usize,
}

impl Count {
    fn add(&mut self, holds: bool) {
        self.of += 1;
        self.held += usize::from(holds);
    }

    fn share(&self) -> f64 {
        self.held as f64 / self.of as f64
    }
}

/// What came of all ovens and products.
#[derive(Default)]
struct Recovered {
    /// Stretches of a zone that were foretold within 8 %.
    near: Count,
    worst: f64,
    /// Intervals of 90 of 100 that hold the true value.
    intervals: Count,
    /// Blocks of a zone that lie in their band of 90 of 100.
    bands: Count,
}

fn recover(hall_signals: bool) -> Recovered {
    let mut recovered = Recovered::default();
    for seed in seeds() {
        let mut bakery = Bakery::millbrook_single();
        bakery.lines[0].hall_signals = hall_signals;
        let days = Days::bake(&bakery, seed, BEYOND);
        let truth = OvenTruth::of(&bakery, &bakery.lines[0]);
        for product in &bakery.products {
            let (balance, trials) = learn(&days, &product.code);
            for off in foretell(&balance, &trials, &mut recovered.bands) {
                recovered.near.add(off < 0.08);
                recovered.worst = recovered.worst.max(off);
            }
            for estimate in &balance.record().estimates {
                let Some(true_value) = true_value(&balance, estimate.unknown, product, &truth) else { continue };
                let holds = (estimate.low..=estimate.high).contains(&true_value);
                println!("{seed} {} {:?} {true_value:.3}: {holds}", product.code, estimate.unknown);
                recovered.intervals.add(holds);
            }
        }
    }
    println!(
        "worst {:.3}; within 8 %: {} of {}; intervals {:.3}, bands {:.3}",
        recovered.worst,
        recovered.near.held,
        recovered.near.of,
        recovered.intervals.share(),
        recovered.bands.share()
    );
    recovered
}

/// Those of the test, or others: `OVENWARD_RECOVERY_SEEDS=21,22`.
fn seeds() -> Vec<u64> {
    let given = std::env::var("OVENWARD_RECOVERY_SEEDS").unwrap_or_else(|_| "11,12".into());
    given.split(',').map(|seed| seed.trim().parse().unwrap()).collect()
}

#[test]
fn learned_balances_foretell_a_speed_never_run_and_hold_the_truth() {
    let Recovered { near, worst, intervals, bands } = recover(true);
    assert!(near.held == near.of, "{} of {} zones were foretold within 8 %, the worst {worst} off", near.held, near.of);
    assert!(intervals.share() >= 0.85, "{} of {} intervals hold the truth", intervals.held, intervals.of);
    assert!(bands.share() >= 0.85, "{} of {} zones lie in their band", bands.held, bands.of);
}

/// The weather of the day asked for moves the dry late zones by some percent, and nobody can know it beforehand.
#[test]
fn where_nobody_measures_the_air_of_the_hall_a_zone_may_be_foretold_less_closely() {
    let Recovered { near, worst, intervals, bands } = recover(false);
    assert!(near.share() >= 0.95, "{} of {} zones were foretold within 8 %", near.held, near.of);
    assert!(worst < 0.15, "a zone was foretold {worst} off");
    assert!(intervals.share() >= 0.85, "{} of {} intervals hold the truth", intervals.held, intervals.of);
    assert!(bands.share() >= 0.85, "{} of {} zones lie in their band", bands.held, bands.of);
}

/// The error of each zone's mean over each stretch beyond history, as a share: one stretch with nobody at the dampers, one
/// with the crew's settings.
fn foretell(balance: &Balance, trials: &[SteadyBlock], bands: &mut Count) -> Vec<f64> {
    let usual = &balance.record().usual;
    let beyond = trials.iter().filter(|block| balance.predict(&usual.of_block(block)).outside_pct > 8.0);
    let beyond: Vec<&SteadyBlock> = beyond.collect();
    let (first, last) = (beyond[0].time_us, beyond[beyond.len() - 1].time_us);
    let between = (first + last) / 2;
    let (untouched, by_crew): (Vec<&SteadyBlock>, Vec<&SteadyBlock>) =
        beyond.iter().partition(|block| block.time_us < between);
    let mut errors = Vec::new();
    for stretch in [untouched, by_crew] {
        assert!(stretch.len() >= 2, "{} blocks", stretch.len());
        for zone in 0..balance.record().oven.zones_m.len() {
            let mut off = 0.0;
            for block in &stretch {
                let told = balance.predict(&usual.of_block(block)).zones[zone];
                let shown = moisture_from_humidity_ratio(HumidityRatio(block.ln_humidity[zone].exp())).unwrap();
                off += (told.moisture_pct / (100.0 * shown.0) - 1.0) / stretch.len() as f64;
                bands.add((told.low_pct..=told.high_pct).contains(&(100.0 * shown.0)));
            }
            println!("{} zone {} at {:.2} m/min: {off:+.3}", balance.key(), zone + 1, stretch[0].speed_m_min);
            errors.push(off.abs());
        }
    }
    errors
}

/// What is true of the simulation, where it has such a value.
fn true_value(balance: &Balance, of: Unknown, product: &bakehouse::Product, truth: &OvenTruth) -> Option<f64> {
    Some(match of {
        Unknown::Exchange => OvenTruth::EXCHANGE_KG_H,
        Unknown::SteamDrift => OvenTruth::STEAM_INTO_ZONE_2,
        Unknown::Walls => OvenTruth::WALL_KW_PER_M,
        Unknown::DryingShape => product.drying.shape(),
        Unknown::DryingScale => product.drying.scale() * product.bake_time_min,
        Unknown::Exhaust(zone) => truth.exhaust_kg_h(zone, balance.record().usual.openings.as_ref()?[zone]),
        Unknown::DamperPower | Unknown::ExhaustBySpeed | Unknown::Steam => return None,
    })
}

//! An invented oven whose zones answer exactly as the balance has it.

use balance::{
    Ambient, Bake, Balance, CannotFit, DamperCurve, DryingCurve, FitSettings, Oven, Parameters, Settings, SteadyBlock,
    WaterBalance, learn_balance,
};
use normal_profile::NormalKey;
use physics::units::Celsius;

const BAKE: Bake = Bake { dough_kg_per_m: 13.0, bake_loss: 0.105, bake_time_min: 24.0, dough_moisture: 0.42 };
pub(crate) const EXHAUST_KG_H: [f64; 3] = [420.0, 700.0, 380.0];
const USUAL: [f64; 3] = [0.35, 0.45, 0.5];

fn oven() -> Oven {
    Oven::direct(vec![9.0, 9.0, 10.0])
}

/// Blocks of an oven whose zones answer exactly as the balance has it; dampers and speed move, from run to run.
pub(crate) fn history(speeds: &[f64]) -> Vec<SteadyBlock> {
    let usual = |_| Ambient::HALL.humidity.0;
    let unmeasured = |block| SteadyBlock { ambient_humidity: f64::NAN, ..block };
    history_in(speeds, usual).into_iter().map(unmeasured).collect()
}

/// The same in air that was measured, of so much humidity (kg/kg) in a run.
pub(crate) fn history_in(speeds: &[f64], weather: impl Fn(u32) -> f64) -> Vec<SteadyBlock> {
    let parameters = Parameters {
        drying: DryingCurve { shape: 1.8, scale_min: 11.0 },
        exchange_kg_h: 80.0,
        steam_into_zone_2: 0.25,
        wall_kw_per_m: 1.8,
        usual: vec![Celsius(230.0); 3],
    };
    let damper = DamperCurve { power: 1.5, by_speed: 0.0 };
    let (oven, bake) = (oven(), BAKE);
    let water = WaterBalance::new(&oven, &bake, &parameters, Ambient::HALL).unwrap();
    let block = |(at, speed): (usize, &f64)| {
        let opening: Vec<f64> =
            (0..3).map(|zone| USUAL[zone] * (1.0 + 0.12 * ((at * (zone + 3)) as f64).sin())).collect();
        let drawn = |zone: usize| EXHAUST_KG_H[zone] * damper.share(opening[zone]) / damper.share(USUAL[zone]);
        let steam_kg_h = 170.0 * (1.0 + 0.05 * (at as f64).cos());
        let settings =
            Settings { exhaust_kg_h: (0..3).map(drawn).collect(), temperatures: vec![Celsius(230.0); 3], steam_kg_h };
        let run = (at / 4) as u32;
        let ambient_humidity = weather(run);
        let zones = water.in_air(Ambient::holding(ambient_humidity)).solve(*speed, &settings);
        SteadyBlock {
            time_us: at as i64 * 600_000_000,
            run,
            minutes: 10.0,
            speed_m_min: *speed,
            ln_humidity: zones.iter().map(|zone| zone.humidity.0.ln()).collect(),
            temperature_c: vec![230.0; 3],
            opening,
            steam_kg_h,
            ambient_humidity,
        }
    };
    speeds.iter().enumerate().map(block).collect()
}

pub(crate) fn many_speeds() -> Vec<f64> {
    (0..40).map(|at| 1.05 + 0.0075 * f64::from(at * 7 % 40)).collect()
}

pub(crate) fn learn(blocks: &[SteadyBlock]) -> Result<Balance, CannotFit> {
    let key = NormalKey { site: "millbrook".into(), line: "tunnel-1".into(), product: "T800".into(), version: 3 };
    learn_balance(key, &oven(), &BAKE, blocks, FitSettings { seed: 7, replicates: 30 })
}

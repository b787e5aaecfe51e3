//! How long a normal takes to learn: `cargo bench -p normal-profile`.

#[path = "../tests/learned/oven.rs"]
mod oven;

use normal_profile::{LearnSettings, learn};
use oven::{Oven, key};

fn main() {
    divan::main();
}

/// Days of 30 s windows, and zones; each zone has a humidity and a temperature.
#[divan::bench(args = [(3, 4), (10, 4), (3, 6), (10, 6), (10, 8)], sample_count = 2, sample_size = 1)]
fn learn_days(bencher: divan::Bencher<'_, '_>, (days, zones): (usize, usize)) {
    let mut oven = Oven::with_zones(zones);
    oven.second_crew[1] = 0.15;
    let windows = oven.windows(days * 2880, 1);
    let rises = oven.rises(days * 6, days / 3, 2);
    bencher.bench(|| learn(key(), &windows, &rises, &LearnSettings::default()).map(|normal| normal.to_json().len()));
}

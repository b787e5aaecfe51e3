//! `nist_cusum.csv` and `arl_tables.csv`: the cumulative sum chart against a worked example and against
//! published average run lengths.

use std::f64::consts::TAU;

use normal_profile::statistics::Cusum;
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::table::{Column, Table};

/// Target, allowance and decision limit of the worked example.
const TARGET: f64 = 325.0;
const ALLOWANCE: f64 = 0.3175;
const LIMIT: f64 = 4.1959;
/// Runs of which an average run length is taken: it is known to about 1 % then.
const RUNS: usize = 10_000;

#[test]
fn sums_and_signals_are_those_of_the_worked_example() {
    let (mut high, mut low) = (Cusum::new(ALLOWANCE), Cusum::new(ALLOWANCE));
    let (mut above, mut below) = (Column::within_absolute("s_hi", 1e-9), Column::within_absolute("s_lo", 1e-9));
    for row in Table::parse(include_str!("nist_cusum.csv")).rows() {
        let x = row.number("x");
        let (up, down) = (high.observe(x - TARGET), low.observe(TARGET - x));
        above.check(&row, up);
        below.check(&row, down);
        assert_eq!(up > LIMIT || down > LIMIT, row.text("signal") == "1", "group {}", row.text("group"));
    }
}

/// How many normal values with this shift (standard deviations) it takes to pass a limit, on average.
fn average_run_length(allowance: f64, limit: f64, shift: f64) -> f64 {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(1);
    // Box and Muller's normal values.
    let mut value = || {
        let (radius, angle): (f64, f64) = (random.gen_range(f64::MIN_POSITIVE..1.0), random.gen_range(0.0..TAU));
        shift + (-2.0 * radius.ln()).sqrt() * angle.cos()
    };
    let mut run = || {
        let mut chart = Cusum::new(allowance);
        (1..).find(|_| chart.observe(value()) > limit).unwrap_or(usize::MAX)
    };
    (0..RUNS).map(|_| run() as f64).sum::<f64>() / RUNS as f64
}

#[test]
fn run_lengths_are_the_published_ones() {
    let mut lengths = Column::within("arl_computed", 0.05);
    for row in Table::parse(include_str!("arl_tables.csv")).rows() {
        let (allowance, limit) = (row.number("lambda_or_k"), row.number("L_or_h"));
        let (shift, computed) = (row.number("shift_sigma"), row.number("arl_computed"));
        // Long runs say the same for much more work.
        if computed < 200.0 {
            lengths.check(&row, average_run_length(allowance, limit, shift));
        }
    }
}

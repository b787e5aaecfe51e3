//! When a saving began: the date at which its cumulative sum turned.

/// A turn must stand out by this many standard errors. The largest of some hundred dependent looks at nothing but
/// scatter passes 3.3 in one of twenty (simulated, see the test); this leaves room for scatter that is not quite normal.
const STANDS_OUT: f64 = 4.0;
/// Fewest records on either side of a turn.
const FEWEST: usize = 5;

/// Where a series of savings changed its level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Place of the first record after the turn.
    pub at: usize,
    /// Mean saving of a record before, kWh.
    pub before_kwh: f64,
    /// Mean saving of a record from the turn on, kWh.
    pub after_kwh: f64,
    /// How far the two lie apart, in standard errors.
    pub standard_errors: f64,
}

/// The turn of the cumulative sum of these savings: where it lies furthest from the straight line between its ends.
/// `None` if nothing stands out.
#[must_use]
pub fn turn(savings: &[f64]) -> Option<Turn> {
    let count = savings.len();
    let total: f64 = savings.iter().sum();
    let mut sum = 0.0;
    let mut best: Option<(usize, f64)> = None;
    for at in 1..count {
        sum += savings[at - 1];
        if at < FEWEST || count - at < FEWEST {
            continue;
        }
        let share = at as f64 / count as f64;
        let distance = (sum - share * total).abs() / (share * (1.0 - share) * count as f64).sqrt();
        if best.is_none_or(|(_, most)| distance > most) {
            best = Some((at, distance));
        }
    }
    let (at, distance) = best?;
    let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
    let (before, after) = savings.split_at(at);
    let (before_kwh, after_kwh) = (mean(before), mean(after));
    let squares = |part: &[f64], mean: f64| part.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
    let scatter = ((squares(before, before_kwh) + squares(after, after_kwh)) / (count as f64 - 2.0)).sqrt();
    // Rounding turns nowhere.
    let moved = distance > 1e-9 * savings.iter().fold(0.0, |most: f64, value| most.max(value.abs()));
    let standard_errors = if scatter > 0.0 { distance / scatter } else { f64::INFINITY };
    (moved && standard_errors >= STANDS_OUT).then_some(Turn { at, before_kwh, after_kwh, standard_errors })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use rand::{Rng, SeedableRng};
    use rand_distr::StandardNormal;
    use rand_xoshiro::Xoshiro256PlusPlus;

    use super::*;

    fn series(count: usize, step: f64, at: usize, seed: u64) -> Vec<f64> {
        let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
        let mut draw = || random.sample::<f64, _>(StandardNormal);
        (0..count).map(|place| 100.0 * draw() + if place >= at { step } else { 0.0 }).collect()
    }

    #[test]
    fn a_saving_that_begins_is_dated() {
        for seed in 0..20 {
            let turn = turn(&series(120, 200.0, 70, seed)).unwrap();
            assert!((65..=75).contains(&turn.at), "{turn:?}");
            assert!(turn.after_kwh - turn.before_kwh > 130.0, "{turn:?}");
        }
    }

    #[test]
    fn scatter_alone_turns_nowhere() {
        let found = (0..400).filter(|seed| turn(&series(120, 0.0, 0, *seed)).is_some()).count();
        assert!(found <= 4, "{found} of 400 turn");
    }

    #[test]
    fn too_few_records_have_no_turn() {
        assert_eq!(turn(&[]), None);
        assert_eq!(turn(&[1.0, 900.0, 900.0]), None);
        assert_eq!(turn(&[5.0; 40]), None, "a steady saving turned nowhere");
    }
}

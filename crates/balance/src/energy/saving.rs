//! Normalised saving: what would have been used before, less what was used.

use super::baseline::{Baseline, BaselinePoint};

/// Half-width of a 95 % interval, in standard errors.
const NINETY_FIVE: f64 = 1.96;

/// The normalised saving of some records together.
#[derive(Debug, Clone, PartialEq)]
pub struct Saving {
    /// What they would have taken by the baseline, kWh.
    pub expected_kwh: f64,
    /// What they took, kWh.
    pub actual_kwh: f64,
    /// Half-width of the 95 % interval of the saving, kWh: the scatter of the records and the doubt about the
    /// baseline. Records are taken as independent; where one follows from the one before it is too narrow.
    pub uncertainty_kwh: f64,
    /// The saving of each record, kWh; positive is less than before.
    pub each_kwh: Vec<f64>,
    /// Their cumulative sum (CUSUM), kWh.
    pub cusum_kwh: Vec<f64>,
}

impl Saving {
    /// Expected less actual, kWh; positive is less than before.
    #[must_use]
    pub fn kwh(&self) -> f64 {
        self.expected_kwh - self.actual_kwh
    }

    /// The saving as a share of what was expected.
    #[must_use]
    pub fn share(&self) -> f64 {
        self.kwh() / self.expected_kwh
    }

    /// Whether it stands out of its uncertainty.
    #[must_use]
    pub fn is_certain(&self) -> bool {
        self.kwh().abs() > self.uncertainty_kwh
    }
}

/// The saving of these records, in order of time, against a baseline.
#[must_use]
pub fn saving(baseline: &Baseline, points: &[BaselinePoint]) -> Saving {
    let expected: Vec<f64> = points.iter().map(|point| baseline.expected_kwh(&point.values)).collect();
    let each_kwh: Vec<f64> = expected.iter().zip(points).map(|(expected, point)| expected - point.energy_kwh).collect();
    let mut sum = 0.0;
    let cusum_kwh = each_kwh.iter().map(|saved| {
        sum += saved;
        sum
    });
    let counted: Vec<Vec<f64>> = points.iter().map(|point| baseline.counted(&point.values)).collect();
    Saving {
        cusum_kwh: cusum_kwh.collect(),
        expected_kwh: expected.iter().sum(),
        actual_kwh: points.iter().map(|point| point.energy_kwh).sum(),
        uncertainty_kwh: NINETY_FIVE * baseline.fit.error_of_sum(counted.iter().map(Vec::as_slice)),
        each_kwh,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use rand::{Rng, SeedableRng};
    use rand_distr::StandardNormal;
    use rand_xoshiro::Xoshiro256PlusPlus;
    use reading::Timestamp;

    use super::super::Variable;
    use super::*;

    /// Invented shifts; those from `changed` on take `share` less.
    fn points(count: usize, changed: usize, share: f64, seed: u64) -> Vec<BaselinePoint> {
        let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
        let mut draw = |at: usize| {
            let tonnes = random.gen_range(4.0..9.0);
            let before = 1500.0 + 350.0 * tonnes + 80.0 * random.sample::<f64, _>(StandardNormal);
            let energy_kwh = if at >= changed { before * (1.0 - share) } else { before };
            BaselinePoint { starts: Timestamp(at as i64), energy_kwh, values: vec![tonnes] }
        };
        (0..count).map(&mut draw).collect()
    }

    #[test]
    fn a_known_saving_lies_in_its_interval_as_often_as_it_should() {
        let variable = [Variable { name: "production".into(), unit: "t".into() }];
        let mut within = 0;
        for seed in 0..200 {
            let all = points(120, 60, 0.10, seed);
            let baseline = Baseline::fit(&variable, &all[..60]).unwrap();
            let saved = saving(&baseline, &all[60..]);
            // What was taken is nine tenths of what would have been, scatter included.
            let truth = all[60..].iter().map(|point| point.energy_kwh).sum::<f64>() / 0.9 * 0.1;
            within += u32::from((saved.kwh() - truth).abs() < saved.uncertainty_kwh);
            assert!(saved.is_certain() && (saved.share() - 0.10).abs() < 0.02, "{}", saved.share());
            assert!((saved.cusum_kwh[59] - saved.kwh()).abs() < 1e-6);
        }
        assert!((178..=200).contains(&within), "{within} of 200");
    }

    #[test]
    fn nothing_saved_is_not_certain() {
        let variable = [Variable { name: "production".into(), unit: "t".into() }];
        let all = points(120, 120, 0.0, 7);
        let saved = saving(&Baseline::fit(&variable, &all[..60]).unwrap(), &all[60..]);
        assert!(!saved.is_certain(), "{} of {}", saved.kwh(), saved.uncertainty_kwh);
    }
}

//! The balance as it might as well have come out, for intervals that can be believed.
//!
//! Each replicate draws whole runs of history again (hours of one run resemble each other), the error of each probe,
//! the humidity of the hall, and common practice within its spread; then it fits. So what the data do not tell keeps
//! the whole spread of practice, and what one probe shows wrong in every hour is not taken for knowledge.

use std::collections::BTreeSet;

use rand::{Rng, SeedableRng};
use rand_distr::StandardNormal;
use rand_xoshiro::Xoshiro256PlusPlus;

use super::{FitSettings, centres};
use crate::misfit::{Chance, Study, fit};
use crate::record::Replicate;
use crate::settings::Ambient;
use crate::unknown::Practice;

/// Error of a humidity probe, ln of the humidity ratio: half a kelvin of dew point (common practice).
const PROBE: f64 = 0.03;
/// The driest hall, kg/kg (common practice).
const HALL_DRIEST: f64 = 0.003;
/// Error of the sensors of the hall's air, kg/kg: 3 % of relative humidity at 25 °C (common practice).
const HALL_SENSORS: f64 = 0.0006;

impl Chance {
    /// The data as they are.
    pub(super) fn as_measured(practice: &[Practice], blocks: usize, zones: usize, hall: f64) -> Self {
        Self { weights: vec![1.0; blocks], probe: vec![0.0; zones], hall, centres: centres(practice) }
    }

    fn drawn(study: &Study<'_>, rng: &mut impl Rng) -> Self {
        let runs: BTreeSet<u32> = study.blocks.iter().map(|(block, _)| block.run).collect();
        let runs: Vec<u32> = runs.into_iter().collect();
        let drawn: Vec<u32> = runs.iter().map(|_| runs[rng.gen_range(0..runs.len())]).collect();
        let times = |run: u32| drawn.iter().filter(|other| **other == run).count() as f64;
        let hall_spread = if study.usual.ambient.is_some() { HALL_SENSORS } else { Ambient::HALL_SPREAD };
        let mut normal = || rng.sample::<f64, _>(StandardNormal);
        Self {
            weights: study.blocks.iter().map(|(block, _)| times(block.run)).collect(),
            probe: study.oven.zones_m.iter().map(|_| PROBE * normal()).collect(),
            hall: (study.usual.ambient_humidity() + hall_spread * normal()).max(HALL_DRIEST),
            centres: study.practice.iter().map(|practice| practice.centre + practice.spread * normal()).collect(),
        }
    }
}

pub(super) fn replicates(study: Study<'_>, fitted: &[f64], settings: FitSettings) -> Vec<Replicate> {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(settings.seed);
    let replicate = |_| {
        let chance = Chance::drawn(&study, &mut rng);
        let fitted = fit(study, &chance, fitted);
        Replicate { fitted, probe: chance.probe, hall: chance.hall }
    };
    (0..settings.replicates).map(replicate).collect()
}

//! Where a fit starts: for each row, how much it belongs to each component.

use rand::{Error, Rng, RngCore, SeedableRng};
use rand_xoshiro::Xoshiro256Plus;

/// Steps of k-means after the seeding; a start need not be a finished clustering.
const CLUSTERING_STEPS: usize = 10;

/// How much more than the others the stressed column counts.
const STRESS: f64 = 8.0;

/// A column with less variance than this (scaled units) hardly moves; its humps part nothing.
const LEAST_VARIANCE: f64 = 0.01;

/// For each row and component, the share (0 to 1) of the row that belongs to the component.
pub(crate) type Responsibilities = Vec<Vec<f64>>;

/// Which of the possible starts.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Start {
    /// 0 clusters the rows as they are; the n-th makes the n-th most two-humped column count most.
    pub(crate) restart: usize,
    /// Where the random numbers come from.
    pub(crate) seed: u64,
}

impl Start {
    /// Rows clustered by k-means++ (Arthur and Vassilvitskii 2007) and a few steps of k-means.
    ///
    /// Two crews that differ in one zone only are lost among the many columns in which they do not:
    /// clustered as they are, the rows part wherever the weather was, and another seed would nearly
    /// always end in the same clusters. Where the ways of running part, a column has two humps.
    pub(crate) fn responsibilities(&self, rows: &[Vec<f64>], components: usize) -> Responsibilities {
        let mut random = Xoshiro256Plus::seed_from_u64(self.seed);
        let stressed = self.restart.checked_sub(1).and_then(|nth| two_humped_first(rows).get(nth).copied());
        let mut stretched = rows.to_vec();
        if let Some(column) = stressed {
            stretched.iter_mut().for_each(|row| row[column] *= STRESS);
        }
        let mut centres = spread_out_centres(&stretched, components, &mut random);
        for _ in 0..CLUSTERING_STEPS {
            centres = means_of_members(&stretched, &centres);
        }
        let belongs_to = |row: &Vec<f64>| {
            let own = nearest(row, &centres).0;
            (0..components).map(|component| f64::from(u8::from(component == own))).collect()
        };
        stretched.iter().map(belongs_to).collect()
    }
}

/// The columns, the one with the lowest kurtosis first: 1 for two points, 1.8 for an even spread, 3 for
/// a normal hump (Peña and Prieto 2001 look for clusters where it is lowest).
fn two_humped_first(rows: &[Vec<f64>]) -> Vec<usize> {
    let kurtosis = |column: usize| {
        let mean_power = |centre: f64, power: i32| {
            rows.iter().map(|row| (row[column] - centre).powi(power)).sum::<f64>() / rows.len() as f64
        };
        let mean = mean_power(0.0, 1);
        let variance = mean_power(mean, 2);
        if variance > LEAST_VARIANCE { mean_power(mean, 4) / variance.powi(2) } else { f64::INFINITY }
    };
    let mut columns: Vec<(f64, usize)> =
        (0..rows.first().map_or(0, Vec::len)).map(|column| (kurtosis(column), column)).collect();
    columns.sort_by(|left, right| left.0.total_cmp(&right.0));
    columns.into_iter().map(|(_, column)| column).collect()
}

/// Rows drawn so that each is likely far from those before it.
fn spread_out_centres(rows: &[Vec<f64>], count: usize, random: &mut Xoshiro256Plus) -> Vec<Vec<f64>> {
    let mut centres = vec![rows[random.gen_range(0..rows.len())].clone()];
    while centres.len() < count {
        let distances: Vec<f64> = rows.iter().map(|row| nearest(row, &centres).1).collect();
        let mut rest = random.gen_range(0.0..1.0) * distances.iter().sum::<f64>();
        let drawn = distances.iter().position(|distance| {
            rest -= distance;
            rest < 0.0
        });
        // With fewer different rows than centres nothing is drawn: the fit will say so.
        centres.push(rows[drawn.unwrap_or(0)].clone());
    }
    centres
}

/// The nearest centre and the squared distance to it.
fn nearest(row: &[f64], centres: &[Vec<f64>]) -> (usize, f64) {
    let squared = |centre: &[f64]| row.iter().zip(centre).map(|(a, b)| (a - b).powi(2)).sum::<f64>();
    let distances = centres.iter().map(|centre| squared(centre)).enumerate();
    distances.min_by(|left, right| left.1.total_cmp(&right.1)).unwrap_or((0, 0.0))
}

/// One step of k-means; a centre without members stays where it is.
fn means_of_members(rows: &[Vec<f64>], centres: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let mut sums = vec![vec![0.0; rows[0].len()]; centres.len()];
    let mut counts = vec![0.0; centres.len()];
    for row in rows {
        let own = nearest(row, centres).0;
        counts[own] += 1.0;
        sums[own].iter_mut().zip(row).for_each(|(sum, value)| *sum += value);
    }
    let mean = |(at, sum): (usize, Vec<f64>)| {
        if counts[at] == 0.0 { centres[at].clone() } else { sum.iter().map(|sum| sum / counts[at]).collect() }
    };
    sums.into_iter().enumerate().map(mean).collect()
}

/// A generator that replays responsibilities.
///
/// linfa starts a mixture either from its own clustering, ten times over for every fit, or from
/// responsibilities that it draws, row by row, uniformly from the generator it is given. Only the
/// second lets a fit go on from an earlier one after rows were trimmed, so the generator it is given
/// draws what we have chosen. A test holds that this reaches the fit.
#[derive(Clone)]
pub(crate) struct Replay {
    values: Vec<f64>,
    next: usize,
}

impl Replay {
    pub(crate) fn new(responsibilities: &Responsibilities) -> Self {
        Self { values: responsibilities.concat(), next: 0 }
    }
}

impl RngCore for Replay {
    /// The 64 bits from which `Uniform::new(0.0, 1.0)` makes the next value: it reads the upper 52 as
    /// a fraction, so that 1 becomes the largest number below it.
    fn next_u64(&mut self) -> u64 {
        const FRACTION_BITS: u32 = 52;
        let value = self.values.get(self.next).copied().unwrap_or(0.0);
        self.next += 1;
        let fraction = (value * (1u64 << FRACTION_BITS) as f64) as u64;
        fraction.min((1 << FRACTION_BITS) - 1) << (u64::BITS - FRACTION_BITS)
    }

    fn next_u32(&mut self) -> u32 {
        (self.next_u64() >> 32) as u32
    }

    fn fill_bytes(&mut self, bytes: &mut [u8]) {
        for chunk in bytes.chunks_mut(8) {
            chunk.copy_from_slice(&self.next_u64().to_le_bytes()[..chunk.len()]);
        }
    }

    fn try_fill_bytes(&mut self, bytes: &mut [u8]) -> Result<(), Error> {
        self.fill_bytes(bytes);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use rand::distributions::{Distribution, Uniform};

    use super::*;

    #[test]
    fn a_uniform_draw_gives_back_what_was_put_in() {
        let wanted = vec![vec![0.25, 0.75], vec![0.0, 1.0]];
        let mut replay = Replay::new(&wanted);
        let uniform = Uniform::new(0.0, 1.0);
        let drawn: Vec<f64> = (0..4).map(|_| uniform.sample(&mut replay)).collect();
        for (drawn, wanted) in drawn.iter().zip(wanted.concat()) {
            assert!((drawn - wanted).abs() < 1e-15, "{drawn} for {wanted}");
        }
    }

    /// Evenly drawn centres would miss a cloud in nine cases of ten.
    #[test]
    fn separate_clouds_become_separate_clusters() {
        let rows: Vec<Vec<f64>> = (0..40).map(|at| vec![f64::from(at % 4) * 100.0 + f64::from(at) * 0.1]).collect();
        for (seed, restart) in (0..20).flat_map(|seed| [(seed, 0), (seed, 1)]) {
            let found = Start { restart, seed }.responsibilities(&rows, 4);
            let cluster = |row: usize| found[row].iter().position(|&share| share == 1.0);
            for row in 0..40 {
                assert_eq!(cluster(row), cluster(row % 4), "row {row}, restart {restart}, seed {seed}");
            }
            let different: std::collections::BTreeSet<_> = (0..4).map(cluster).collect();
            assert_eq!(different.len(), 4, "restart {restart}, seed {seed}");
        }
    }

    #[test]
    fn the_column_with_two_humps_comes_first_and_the_one_that_never_moves_last() {
        // Even over its range, two points, never moving.
        let rows: Vec<Vec<f64>> = (0..50).map(|at| vec![f64::from(at), 3.0 * f64::from(at % 2), 7.0]).collect();
        assert_eq!(two_humped_first(&rows), [1, 0, 2]);
    }
}

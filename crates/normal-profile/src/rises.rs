//! What practice makes of a rise of speed, from the rises in history.

use serde::{Deserialize, Serialize};

use crate::observation::RiseChange;
use crate::screening::total_order;
use crate::statistics::{SquareMatrix, trimmed_scatter};

/// Fewest usable rises from which anything is learned.
pub const FEWEST_RISES: usize = 5;
/// A smaller rise says more about the noise than about the practice.
const LEAST_LN_SPEED_CHANGE: f64 = 0.015;
/// Least standard deviation of the change that a rise makes.
const LEAST_CHANGE: f64 = 0.01;

/// How ln humidity changes with ln speed when a rise is met as this oven's crews meet it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RisePractice {
    /// Rises that agree with the practice: those it was learned from.
    pub used: usize,
    /// Change of ln humidity per change of ln speed, one per zone: 0 if the crew holds the humidity,
    /// about 1 if nobody opens anything.
    pub slope: Vec<f64>,
    /// Covariance of what is left.
    pub covariance: SquareMatrix,
    /// Σ (ln speed change)² of the rises used: how well the slope is known.
    pub leverage: f64,
}

/// A rise in history, and whether practice was learned from it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JudgedRise {
    /// When it began, UTC microseconds since 1970.
    pub began_us: i64,
    /// ln(speed after / speed before).
    pub ln_speed_change: f64,
    /// Change of ln humidity ratio, one per zone; none where it is not known.
    pub ln_humidity_change: Vec<Option<f64>>,
    /// What became of it.
    pub verdict: RiseVerdict,
}

/// What became of a rise in history.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RiseVerdict {
    /// Practice was learned from it; with fewer than [`FEWEST_RISES`] of these there is none.
    Learned,
    /// It changed the zones as no other did: taken for one that nobody met.
    Unlike,
    /// So small that it says more about the noise than about the practice.
    TooSmall,
    /// The change of a zone is not known.
    ZoneUnknown,
}

impl JudgedRise {
    fn of(rise: &RiseChange, verdict: RiseVerdict) -> Self {
        let known = rise.ln_humidity_change.iter().map(|&change| Some(change).filter(|change| change.is_finite()));
        Self {
            began_us: rise.began_us,
            ln_speed_change: rise.ln_speed_change,
            ln_humidity_change: known.collect(),
            verdict,
        }
    }
}

/// The rises in order of time and, at one time, of content. A rise without a size is none.
pub(crate) fn rises_in_fixed_order(rises: &[RiseChange]) -> Vec<&RiseChange> {
    let numbers = |rise: &RiseChange| {
        let mut numbers = vec![rise.ln_speed_change];
        numbers.extend(&rise.ln_humidity_change);
        numbers
    };
    let mut sorted: Vec<&RiseChange> = rises.iter().filter(|rise| rise.ln_speed_change.is_finite()).collect();
    sorted.sort_by(|left, right| {
        left.began_us.cmp(&right.began_us).then_with(|| total_order(&numbers(left), &numbers(right)))
    });
    sorted
}

/// The practice in these rises, if there are enough of them, and what became of each rise.
///
/// About one rise in twenty was met by nobody. So the slope starts from the weighted median of
/// the rises' own slopes (the least absolute deviations through the origin), and the outliers
/// around it are cut off by a trimmed covariance before slope and covariance are computed.
pub(crate) fn learn_practice(rises: &[&RiseChange], zones: usize) -> (Option<RisePractice>, Vec<JudgedRise>) {
    let judge = |rise: &&RiseChange| JudgedRise::of(rise, usable_or_why_not(rise, zones));
    let mut judged: Vec<JudgedRise> = rises.iter().map(judge).collect();
    let (usable, verdicts): (Vec<&RiseChange>, Vec<&mut RiseVerdict>) = rises
        .iter()
        .zip(&mut judged)
        .filter(|(_, judged)| judged.verdict == RiseVerdict::Learned)
        .map(|(rise, judged)| (*rise, &mut judged.verdict))
        .unzip();
    if usable.len() < FEWEST_RISES {
        return (None, judged);
    }
    let (practice, good) = practice_of(&usable, zones);
    for (verdict, _) in verdicts.into_iter().zip(good).filter(|(_, good)| !good) {
        *verdict = RiseVerdict::Unlike;
    }
    (Some(practice), judged)
}

/// The practice in what was left of the rises some minutes after they had reached every zone: crews that
/// take their time have answered by then, and others have corrected themselves.
pub(crate) fn learn_settled_practice(rises: &[&RiseChange], zones: usize) -> Option<RisePractice> {
    let settled: Vec<RiseChange> = rises
        .iter()
        .map(|rise| RiseChange { ln_humidity_change: rise.settled_ln_humidity_change.clone(), ..(*rise).clone() })
        .collect();
    learn_practice(&settled.iter().collect::<Vec<_>>(), zones).0
}

/// The practice in usable rises, and for each of them whether it agrees with it.
fn practice_of(usable: &[&RiseChange], zones: usize) -> (RisePractice, Vec<bool>) {
    let floors = vec![LEAST_CHANGE; zones];
    let mut slope: Vec<f64> = (0..zones).map(|zone| weighted_median_slope(usable, zone)).collect();
    let mut good = vec![true; usable.len()];
    let mut covariance = SquareMatrix::zeros(zones);
    // Slope and outliers depend on each other; a few turns settle both.
    for _ in 0..5 {
        let residuals: Vec<Vec<f64>> = usable.iter().map(|rise| residual(rise, &slope)).collect();
        let scatter = trimmed_scatter(&residuals, &floors);
        good = scatter.good;
        covariance = scatter.covariance;
        let used: Vec<&RiseChange> =
            usable.iter().zip(&good).filter(|(_, good)| **good).map(|(rise, _)| *rise).collect();
        slope = (0..zones).map(|zone| least_squares_slope(&used, zone)).collect();
    }
    let used = good.iter().filter(|good| **good).count();
    let leverage =
        usable.iter().zip(&good).filter(|(_, good)| **good).map(|(rise, _)| rise.ln_speed_change.powi(2)).sum();
    (RisePractice { used, slope, covariance, leverage }, good)
}

impl RisePractice {
    /// Mean and covariance of the change that a new rise of this size makes.
    pub(crate) fn predict(&self, ln_speed_change: f64) -> (Vec<f64>, SquareMatrix) {
        let mean = self.slope.iter().map(|slope| slope * ln_speed_change).collect();
        // A new rise scatters around a slope that is itself uncertain, and a covariance from few
        // rises is too narrow as often as not: the variance of Student's t makes up for that, with the
        // slope and, as correlations are shrunk, half the zones taken off its degrees of freedom.
        let slope_uncertainty = 1.0 + ln_speed_change.powi(2) / self.leverage.max(f64::MIN_POSITIVE);
        let freedom = (self.used as f64 - 1.0 - self.slope.len() as f64 / 2.0).max(3.0);
        (mean, self.covariance.scaled(slope_uncertainty * freedom / (freedom - 2.0)))
    }
}

/// `Learned` for a rise that can be learned from, else what it lacks.
fn usable_or_why_not(rise: &RiseChange, zones: usize) -> RiseVerdict {
    let changes = &rise.ln_humidity_change;
    if rise.ln_speed_change < LEAST_LN_SPEED_CHANGE {
        RiseVerdict::TooSmall
    } else if changes.len() != zones || changes.iter().any(|change| !change.is_finite()) {
        RiseVerdict::ZoneUnknown
    } else {
        RiseVerdict::Learned
    }
}

fn residual(rise: &RiseChange, slope: &[f64]) -> Vec<f64> {
    rise.ln_humidity_change.iter().zip(slope).map(|(change, slope)| change - slope * rise.ln_speed_change).collect()
}

fn weighted_median_slope(rises: &[&RiseChange], zone: usize) -> f64 {
    let mut slopes: Vec<(f64, f64)> =
        rises.iter().map(|rise| (rise.ln_humidity_change[zone] / rise.ln_speed_change, rise.ln_speed_change)).collect();
    slopes.sort_by(|left, right| left.0.total_cmp(&right.0));
    let half = slopes.iter().map(|(_, weight)| weight).sum::<f64>() / 2.0;
    let mut sum = 0.0;
    let middle = slopes.iter().find(|(_, weight)| {
        sum += weight;
        sum >= half
    });
    middle.map_or(0.0, |(slope, _)| *slope)
}

fn least_squares_slope(rises: &[&RiseChange], zone: usize) -> f64 {
    let products: f64 = rises.iter().map(|rise| rise.ln_speed_change * rise.ln_humidity_change[zone]).sum();
    let squares: f64 = rises.iter().map(|rise| rise.ln_speed_change.powi(2)).sum();
    if squares > 0.0 { products / squares } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use rand::{Rng, SeedableRng};
    use rand_xoshiro::Xoshiro256Plus;

    use super::*;
    use crate::statistics::{chi_square_quantile, mahalanobis_squared};

    const ZONES: usize = 4;

    /// A rise met with a slope of 0.3, and a common and an own scatter of 2 % in each zone.
    fn rise(random: &mut Xoshiro256Plus) -> RiseChange {
        // The sum of twelve uniform numbers is normal enough for a coverage.
        let mut normal = || (0..12).map(|_| random.gen_range(-0.5..0.5f64)).sum::<f64>();
        let common = normal();
        let own: Vec<f64> = (0..ZONES).map(|_| 0.02 * (0.6 * common + 0.8 * normal())).collect();
        let ln_speed_change = random.gen_range(0.02..0.15);
        let ln_humidity_change: Vec<f64> = own.iter().map(|scatter| 0.3 * ln_speed_change + scatter).collect();
        let settled_ln_humidity_change = ln_humidity_change.iter().map(|change| change / 2.0).collect();
        RiseChange { began_us: 0, ln_speed_change, ln_humidity_change, settled_ln_humidity_change }
    }

    /// How many new rises in a hundred lie outside the 95 % band learned from `count` rises.
    fn outside_pct(count: usize) -> f64 {
        let mut random = Xoshiro256Plus::seed_from_u64(count as u64);
        let limit = chi_square_quantile(0.95, ZONES);
        let trials = 300;
        let outside = (0..trials).filter(|_| {
            let history: Vec<RiseChange> = (0..count).map(|_| rise(&mut random)).collect();
            let practice = learn_practice(&history.iter().collect::<Vec<_>>(), ZONES).0.unwrap();
            let new = rise(&mut random);
            let (mean, covariance) = practice.predict(new.ln_speed_change);
            let difference: Vec<f64> =
                new.ln_humidity_change.iter().zip(&mean).map(|(found, mean)| found - mean).collect();
            mahalanobis_squared(&difference, &covariance).unwrap() > limit
        });
        100.0 * outside.count() as f64 / f64::from(trials)
    }

    #[test]
    fn the_band_holds_what_it_promises_with_few_rises_and_with_many() {
        for count in [5, 20, 100] {
            let outside = outside_pct(count);
            assert!((2.0..10.0).contains(&outside), "{outside} % of new rises lie outside the 95 % band of {count}");
        }
    }
}

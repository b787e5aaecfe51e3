//! What practice makes of a rise: the change that is expected of every zone, and how surely.

use normal_profile::Normal;
use normal_profile::statistics::SquareMatrix;
use reading::{ShiftCalendar, Span, Timestamp};

use crate::rise::Rise;

/// Without a normal: how well "humidity holds" can be believed of any zone, and per ln speed.
const HOLDS_WITHIN: (f64, f64) = (0.04, 0.25);
/// A crew that took over no longer than this before a rise may have been setting the oven its own way while
/// the level before the rise was taken.
const TAKES_OVER: Span = Span::minutes(30);

/// The change that practice makes of a rise, ln humidity ratio, zone by zone.
#[derive(Debug, Clone)]
pub(crate) struct Practice {
    pub(crate) mean: Vec<f64>,
    pub(crate) covariance: SquareMatrix,
    /// By how much a zone changes (one standard deviation) when another crew takes over: all zones
    /// together, as steam and exhaust are set anew. Zeros where no crew took over meanwhile.
    pub(crate) handover: Vec<f64>,
}

impl Practice {
    /// Nothing is known of practice, and nothing is judged by it.
    pub(crate) fn unknown(zones: usize) -> Self {
        let of_zone = vec![0.0; zones];
        Self { mean: of_zone.clone(), covariance: SquareMatrix::zeros(zones), handover: of_zone }
    }

    /// What is known at a moment of a rise.
    pub(crate) fn of(
        rise: &Rise,
        zones: usize,
        normal: Option<&Normal>,
        is_settled: bool,
        shifts: &ShiftCalendar,
        now: Timestamp,
    ) -> Self {
        let Some(normal) = normal else {
            let variance = HOLDS_WITHIN.0.powi(2) + (HOLDS_WITHIN.1 * rise.ln_change()).powi(2);
            return Self { covariance: SquareMatrix::diagonal(&vec![variance; zones]), ..Self::unknown(zones) };
        };
        let change = match is_settled {
            true => normal.expect_settled_change(rise.before, rise.after),
            false => normal.expect_change(rise.before, rise.after),
        };
        let handover = if shifts.changes_between(rise.began - TAKES_OVER, now) {
            // Before and after are two draws from all the ways in which the oven is run.
            let ways = normal.expect(rise.after).zones;
            ways.iter().map(|zone| std::f64::consts::SQRT_2 * zone.ln_humidity.sd).collect()
        } else {
            vec![0.0; zones]
        };
        Self { mean: change.mean, covariance: change.covariance, handover }
    }

    /// Standard deviation of the change of a zone, from 0.
    pub(crate) fn sd(&self, zone: usize) -> f64 {
        (self.covariance.get(zone, zone) + self.handover[zone].powi(2)).sqrt()
    }

    /// Whether another crew took over meanwhile.
    pub(crate) fn crews_change(&self) -> bool {
        self.handover.iter().any(|sd| *sd > 0.0)
    }

    /// The covariance that a new crew adds to these zones.
    pub(crate) fn handover_of(&self, zones: &[usize]) -> SquareMatrix {
        SquareMatrix::from_fn(zones.len(), |row, column| self.handover[zones[row]] * self.handover[zones[column]])
    }
}

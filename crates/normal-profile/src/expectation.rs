//! What is expected at a speed, and of a change of speed.

use physics::units::MetrePerMinute;

use crate::Normal;
use crate::regression::{Extrapolation, humidity_slope};
use crate::rises::{FEWEST_RISES, RisePractice};
use crate::statistics::SquareMatrix;

/// The learned speeds must spread at least this much in ln speed before a slope is read off them.
const LEAST_LN_SPEED_RANGE: f64 = 0.03;
/// "Humidity holds" is believed to within this share of the change of load, one standard deviation:
/// untouched, a zone would follow the load one to one.
const HOLDS_WITHIN: f64 = 0.25;
/// By how much a zone may miss the expected change per ln speed beyond the learned speeds.
const CHANGE_BEYOND_RANGE: f64 = 0.5;

/// A mean and a standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// Half-width of the band that holds 95 of 100, in standard deviations.
pub const BAND: f64 = 1.96;

impl Band {
    /// The low end of the band that holds 95 of 100.
    #[must_use]
    pub fn low(self) -> f64 {
        self.mean - BAND * self.sd
    }

    /// Its high end.
    #[must_use]
    pub fn high(self) -> f64 {
        self.mean + BAND * self.sd
    }
}

/// What a zone is expected to show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneExpectation {
    /// ln humidity ratio, ln kg/kg.
    pub ln_humidity: Band,
    /// Air temperature, °C; none if the zone has no sensor for it.
    pub temperature: Option<Band>,
}

/// The expected profile at a speed.
#[derive(Debug, Clone, PartialEq)]
pub struct Expectation {
    /// One per zone.
    pub zones: Vec<ZoneExpectation>,
    /// Set if the speed lies outside the learned ones: the band is wider, and this says by how much.
    pub extrapolating: Option<Extrapolation>,
}

/// Where the expected change of a rise comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChangeSource {
    /// Rises in history: how this oven's crews meet them.
    Rises {
        /// How many were used.
        used: usize,
    },
    /// The profile at one learned speed against that at another.
    Mixture,
    /// Nothing was learned about speed: a crew that holds the humidity.
    HumidityHolds,
}

impl std::fmt::Display for ChangeSource {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Rises { used } => write!(f, "{used} rises in history"),
            Self::Mixture => write!(f, "the profiles at the learned speeds"),
            Self::HumidityHolds => write!(f, "the rule that humidity holds, as too few speeds were learned"),
        }
    }
}

/// The change that a rise makes when the oven is run as it is when it is run well.
#[derive(Debug, Clone, PartialEq)]
pub struct ExpectedChange {
    /// Change of ln humidity ratio, one per zone.
    pub mean: Vec<f64>,
    /// Its covariance, zones × zones.
    pub covariance: SquareMatrix,
    /// Where it comes from.
    pub source: ChangeSource,
}

impl Normal {
    /// The expected profile at a speed: finite for any speed, wider outside the learned ones.
    pub fn expect(&self, speed: MetrePerMinute) -> Expectation {
        let at = self.regression.at(speed);
        let (mean, variance) = at.mean_and_variance();
        let band = |index: usize| Band { mean: mean[index], sd: variance[index].max(0.0).sqrt() };
        let columns = &self.record.columns;
        let zones = (0..columns.zones)
            .map(|zone| ZoneExpectation { ln_humidity: band(zone), temperature: columns.temperature(zone).map(band) })
            .collect();
        Expectation { zones, extrapolating: at.extrapolation() }
    }

    /// The change of ln humidity that a change of speed makes by practice, when it has just reached a zone.
    ///
    /// From the rises in history where there are at least [`FEWEST_RISES`] usable ones, else from
    /// the profiles at the learned speeds, else none, within a stated band.
    pub fn expect_change(&self, before: MetrePerMinute, after: MetrePerMinute) -> ExpectedChange {
        self.change_by(self.record.rises.as_ref(), before, after)
    }

    /// The same some minutes after it has reached every zone, as far as history tells the two apart.
    pub fn expect_settled_change(&self, before: MetrePerMinute, after: MetrePerMinute) -> ExpectedChange {
        self.change_by(self.record.settled_rises.as_ref().or(self.record.rises.as_ref()), before, after)
    }

    fn change_by(
        &self,
        practice: Option<&RisePractice>,
        before: MetrePerMinute,
        after: MetrePerMinute,
    ) -> ExpectedChange {
        let ratio = after.0 / before.0;
        let ln_change = if ratio > 0.0 && ratio.is_finite() { ratio.ln() } else { 0.0 };
        if let Some(practice) = practice.filter(|practice| practice.used >= FEWEST_RISES) {
            let (mean, covariance) = practice.predict(ln_change);
            return ExpectedChange { mean, covariance, source: ChangeSource::Rises { used: practice.used } };
        }
        let range = &self.record.speeds;
        if (range.fastest_m_min / range.slowest_m_min).ln() >= LEAST_LN_SPEED_RANGE {
            self.change_by_mixture(before, after, ln_change)
        } else {
            self.change_if_humidity_holds(ln_change)
        }
    }

    fn change_by_mixture(&self, before: MetrePerMinute, after: MetrePerMinute, ln_change: f64) -> ExpectedChange {
        let zones = self.record.columns.zones;
        let range = &self.record.speeds;
        let learned = |speed: MetrePerMinute| speed.0.clamp(range.slowest_m_min, range.fastest_m_min);
        let (from, to) = (learned(before), learned(after));
        let inside = (to / from).ln();
        let inside = if inside.is_finite() { inside } else { 0.0 };
        let middle = MetrePerMinute((from * to).sqrt());
        let (slope, slope_covariance) =
            humidity_slope(&self.regression.at(middle), zones, self.record.independent_windows);
        let mut covariance = self.record.drift.clone();
        for row in 0..zones {
            for column in 0..zones {
                covariance.add(row, column, slope_covariance.get(row, column) * inside.powi(2));
            }
            covariance.add(row, row, (CHANGE_BEYOND_RANGE * (ln_change - inside)).powi(2));
        }
        let mean = slope.iter().map(|slope| slope * inside).collect();
        ExpectedChange { mean, covariance, source: ChangeSource::Mixture }
    }

    fn change_if_humidity_holds(&self, ln_change: f64) -> ExpectedChange {
        let zones = self.record.columns.zones;
        let mut covariance = self.record.drift.clone();
        for zone in 0..zones {
            covariance.add(zone, zone, (HOLDS_WITHIN * ln_change).powi(2));
        }
        ExpectedChange { mean: vec![0.0; zones], covariance, source: ChangeSource::HumidityHolds }
    }
}

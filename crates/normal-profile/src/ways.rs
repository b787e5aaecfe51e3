//! What sets the ways of running of a product apart: two crews, winter and summer, half load.

use physics::units::MetrePerMinute;

use crate::Normal;

/// Fewer standard deviations than this from the average do not set a way of running apart: what lies
/// on either side of the average then overlaps by more than it differs.
const CLEAR: f64 = 0.5;

/// One way of running, against the average of all ways at its own speed.
#[derive(Debug, Clone, PartialEq)]
pub struct WayOfRunning {
    /// Share of the windows, 0 to 1.
    pub share: f64,
    /// The speed at which it is usually run, m/min.
    pub speed: MetrePerMinute,
    /// One per zone.
    pub zones: Vec<ZoneDifference>,
}

/// What sets one zone apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneDifference {
    /// ln humidity ratio, ln kg/kg.
    pub ln_humidity: Difference,
    /// Air temperature, °C; none if the zone has no sensor for it.
    pub temperature: Option<Difference>,
}

/// A quantity in one way of running and on average.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// Mean of this way.
    pub own: f64,
    /// Mean over all ways, each counting by its share at this speed.
    pub average: f64,
    /// Standard deviation within this way.
    pub sd: f64,
}

impl Difference {
    /// From the average, in standard deviations of this way.
    pub fn z(&self) -> f64 {
        (self.own - self.average) / self.sd
    }

    /// Whether it is large enough to set the way apart.
    pub fn is_clear(&self) -> bool {
        self.z().abs() >= CLEAR
    }
}

impl Normal {
    /// The ways of running, the most usual first. A single way does not differ from the average.
    pub fn ways_of_running(&self) -> Vec<WayOfRunning> {
        let columns = &self.record.columns;
        let way = |(branch, component): (usize, &crate::Component)| {
            let speed = self.regression.usual_speed(branch);
            let at = self.regression.at(speed);
            let (average, _) = at.mean_and_variance();
            let (own, sd) = (at.branch_mean(branch), self.regression.spread_at_speed(branch));
            let difference = |at: usize| Difference { own: own[at], average: average[at], sd: sd[at] };
            let zone = |zone: usize| ZoneDifference {
                ln_humidity: difference(zone),
                temperature: columns.temperature(zone).map(difference),
            };
            WayOfRunning { share: component.weight, speed, zones: (0..columns.zones).map(zone).collect() }
        };
        self.record.mixture.components.iter().enumerate().map(way).collect()
    }
}

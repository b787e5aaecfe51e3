//! Two runs, zone by zone.

use super::analysis::Transit;

/// What changed in a zone from one run to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Change of moisture, share by volume.
    pub moisture: Option<f64>,
    /// Change of air temperature, K.
    pub temperature: Option<f64>,
}

/// The change of each zone that both runs have, from `before` to `after`.
#[must_use]
pub fn compare(before: &Transit, after: &Transit) -> Vec<Change> {
    let pairs = before.zones.iter().zip(&after.zones);
    let change = |(a, b): (&super::ZonePassage, &super::ZonePassage)| Change {
        moisture: a.moisture.zip(b.moisture).map(|(a, b)| b.0 - a.0),
        temperature: a.temperature.zip(b.temperature).map(|(a, b)| b.0 - a.0),
    };
    pairs.map(change).collect()
}

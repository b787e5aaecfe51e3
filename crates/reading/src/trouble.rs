//! What speaks against a signal itself, whatever the oven does.

use serde::{Deserialize, Serialize};

use crate::quantity::Quantity;
use crate::signal::SignalId;
use crate::time::{Span, Timestamp};

/// A signal that is not to be believed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Trouble {
    /// Which signal.
    pub signal: SignalId,
    /// Its zone, from 1; `None` for the whole line.
    pub zone: Option<usize>,
    /// What it should measure.
    pub quantity: Quantity,
    /// What speaks against it.
    pub kind: TroubleKind,
    /// Since when.
    pub since: Timestamp,
}

/// What speaks against a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TroubleKind {
    /// Nothing believable is heard of it.
    Silent,
    /// It shows one value again and again, and never did so before.
    Stuck,
    /// No sensor for this quantity shows such a value.
    OutOfRange,
    /// The values of one place contradict each other, or no air can be like that.
    Impossible,
}

/// A humidity sensor and a thermometer differ by this much at the same place before one of them is
/// called wrong, K.
pub(crate) const DEW_POINT_ABOVE_AIR_K: f64 = 2.0;

/// Watches whether a signal still moves.
///
/// A sensor in an oven trembles. How long it may show one value is learned from the signal: with a
/// coarse resolution that is minutes, with a fine one seconds.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Stillness {
    value: Option<f64>,
    since: Timestamp,
    longest: Span,
    changes: u32,
}

impl Stillness {
    /// No signal is called stuck sooner.
    const LEAST: Span = Span::minutes(20);
    /// Nor before it has shown one value for this many times its longest stillness so far.
    const TIMES_LONGEST: i64 = 8;
    /// Changes that must have been seen before a stillness says anything.
    const KNOWN_AFTER: u32 = 100;

    pub(crate) fn observe(&mut self, time: Timestamp, value: f64) {
        if self.value == Some(value) {
            return;
        }
        // A stillness that was called stuck teaches nothing about how this sensor usually trembles.
        let lasted = time - self.since;
        if self.value.is_some() && lasted < self.limit() {
            self.longest = self.longest.max(lasted);
            self.changes = self.changes.saturating_add(1);
        }
        (self.value, self.since) = (Some(value), time);
    }

    /// Since when the signal is stuck, if it is.
    pub(crate) fn stuck_since(&self, now: Timestamp) -> Option<Timestamp> {
        (self.changes >= Self::KNOWN_AFTER && now - self.since >= self.limit()).then_some(self.since)
    }

    fn limit(&self) -> Span {
        Self::LEAST.max(Span(self.longest.0.saturating_mul(Self::TIMES_LONGEST)))
    }
}

impl Quantity {
    /// The values that a sensor for this quantity can show beside an oven, in the unit used for
    /// calculation: far wider than any oven's, so that only a broken wire or a wrong unit is outside.
    #[must_use]
    pub fn plausible(self) -> std::ops::RangeInclusive<f64> {
        match self {
            Self::BandSpeed => -0.1..=60.0,
            Self::BakeTime => 0.1..=600.0,
            Self::AirTemperature => -40.0..=600.0,
            Self::AmbientTemperature => -50.0..=80.0,
            Self::DewPoint => -60.0..=150.0,
            Self::Moisture => -1.0..=100.0,
            Self::HumidityRatio => -0.01..=20.0,
            Self::ExhaustDamper | Self::SteamValve | Self::Burner | Self::AmbientHumidity => -5.0..=105.0,
            _ => f64::MIN..=f64::MAX,
        }
    }

    /// Whether a working sensor for it always trembles: one that never moves is stuck. A damper or a
    /// speed may stand still for days.
    pub(crate) fn trembles(self) -> bool {
        self == Self::AirTemperature || self.is_humidity()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sensor that changes every `every` seconds for some hours, and then not at all.
    fn freezes_after(hours: i64, every: i64) -> Option<i64> {
        let mut stillness = Stillness::default();
        let end = hours * 3600;
        for second in (0..end).step_by(every as usize) {
            stillness.observe(Timestamp(second * 1_000_000), second as f64);
            assert_eq!(stillness.stuck_since(Timestamp(second * 1_000_000)), None);
        }
        (end..end + 20 * 3600)
            .find(|second| stillness.stuck_since(Timestamp(second * 1_000_000)).is_some())
            .map(|s| s - end)
    }

    #[test]
    fn a_sensor_is_stuck_after_a_stillness_that_is_long_for_it() {
        assert_eq!(freezes_after(3, 10).map(|after| after / 60), Some(19), "a fine sensor: the least time");
        assert_eq!(freezes_after(40, 600).map(|after| after / 60), Some(70), "a coarse one: eight times its own");
        assert_eq!(freezes_after(1, 60), None, "nobody knows yet how it trembles");
    }
}

//! Readings laid on windows of event time.

use std::sync::Arc;

use physics::units::{Celsius, HumidityRatio, MetrePerMinute};

use crate::running_state::RunningState;
use crate::signal::LineIndex;
use crate::time::Timestamp;
use crate::trouble::Trouble;

/// What one line did in one window of event time.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// Which line.
    pub line: LineIndex,
    /// The first moment of the window.
    pub starts: Timestamp,
    /// The first moment after it.
    pub ends: Timestamp,
    /// What the line was doing.
    pub state: RunningState,
    /// Code of the product that lies in the oven.
    pub product: Option<Arc<str>>,
    /// Mean band speed.
    pub band_speed: Option<MetrePerMinute>,
    /// Whether product entered: by the feed signal or the divider, `None` without either.
    pub fed: Option<bool>,
    /// Mean steam flow, kg/h.
    pub steam_flow: Option<f64>,
    /// Mean opening of the steam valve, %.
    pub steam_valve: Option<f64>,
    /// Mean humidity ratio of the air that the oven draws in, where its temperature and humidity are measured.
    pub ambient_humidity: Option<HumidityRatio>,
    /// Zone by zone, in the direction of travel.
    pub zones: Vec<ZoneWindow>,
    /// Share of the line's signals that gave a usable value, 0 to 1.
    pub coverage: f64,
    /// Signals that are not to be believed.
    pub troubles: Vec<Trouble>,
}

impl Window {
    /// A window in which nothing was measured.
    #[must_use]
    pub fn unmeasured(line: LineIndex, starts: Timestamp, ends: Timestamp, state: RunningState) -> Self {
        Self {
            line,
            starts,
            ends,
            state,
            product: None,
            band_speed: None,
            fed: None,
            steam_flow: None,
            steam_valve: None,
            ambient_humidity: None,
            zones: Vec::new(),
            coverage: 0.0,
            troubles: Vec::new(),
        }
    }

    /// What is known of the steam: its flow in kg/h, or the opening of its valve in %.
    #[must_use]
    pub fn steam(&self) -> Option<f64> {
        self.steam_flow.or(self.steam_valve)
    }
}

/// What one zone did in one window.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ZoneWindow {
    /// Mean humidity ratio.
    pub humidity: Option<HumidityRatio>,
    /// Mean air temperature.
    pub air_temperature: Option<Celsius>,
    /// Mean exhaust damper opening, %.
    pub exhaust_damper: Option<f64>,
}

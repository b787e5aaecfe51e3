//! Readings laid on windows of event time.

use std::sync::Arc;

use physics::units::{Celsius, HumidityRatio, MetrePerMinute};

use crate::running_state::RunningState;
use crate::signal::LineIndex;
use crate::time::Timestamp;

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
    /// Mean steam flow, kg/h.
    pub steam_flow: Option<f64>,
    /// Zone by zone, in the direction of travel.
    pub zones: Vec<ZoneWindow>,
    /// Share of the line's signals that gave a usable value, 0 to 1.
    pub coverage: f64,
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

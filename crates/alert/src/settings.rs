//! What detection can be set to, with defaults that work.

use reading::{Span, WindowSettings};

/// How long a condition must last before an alert is raised, and be gone before it ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Delays {
    /// Before it is raised.
    pub on: Span,
    /// Before it ends.
    pub off: Span,
}

/// Settings of detection.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DetectionSettings {
    /// How readings are laid on windows.
    pub window: WindowSettings,
    /// A step of the band speed smaller than this share is noise.
    pub smallest_step: f64,
    /// A creep of the band speed smaller than this share, over [`creep_over`](Self::creep_over), is drift.
    pub smallest_creep: f64,
    /// How far back a creep is looked for.
    pub creep_over: Span,
    /// False alarms that are put up with, per line and month of 30 days.
    pub false_alarms_per_line_month: f64,
    /// A zone must be drier than the expected change by this share to be worth a person's time.
    pub least_excess: f64,
    /// How long zones and sensors take to show what the material in them does.
    pub zone_lag: Span,
    /// Product under steam for longer than this is over-steamed; `None` sets no limit.
    pub steam_limit: Option<Span>,
    /// Of an unmatched rise.
    pub rise_delays: Delays,
    /// Of the hard limit of zone 3.
    pub limit_delays: Delays,
    /// Of a departure from the normal without a rise.
    pub departure_delays: Delays,
    /// Of over-steaming.
    pub steam_delays: Delays,
    /// Of a sensor fault.
    pub sensor_delays: Delays,
}

impl Default for DetectionSettings {
    fn default() -> Self {
        Self {
            window: WindowSettings::default(),
            smallest_step: 0.018,
            smallest_creep: 0.035,
            creep_over: Span::minutes(40),
            false_alarms_per_line_month: 1.0,
            least_excess: 0.1,
            zone_lag: Span::seconds(90),
            steam_limit: None,
            rise_delays: Delays { on: Span::seconds(60), off: Span::minutes(5) },
            limit_delays: Delays { on: Span::seconds(60), off: Span::minutes(5) },
            departure_delays: Delays { on: Span::minutes(10), off: Span::minutes(30) },
            steam_delays: Delays { on: Span::minutes(15), off: Span::minutes(2) },
            sensor_delays: Delays { on: Span::minutes(3), off: Span::minutes(3) },
        }
    }
}

impl DetectionSettings {
    /// Judgements a line makes in a month: a rise every three hours of baking, each judged in the windows
    /// of ten minutes while it passes through the oven.
    const JUDGEMENTS_PER_LINE_MONTH: f64 = 30.0 * 8.0 * 20.0;

    /// The chance that one judgement of a rise that was met by practice raises an alert.
    #[must_use]
    pub fn false_alarm_probability(&self) -> f64 {
        (self.false_alarms_per_line_month / Self::JUDGEMENTS_PER_LINE_MONTH).clamp(1e-12, 0.5)
    }
}

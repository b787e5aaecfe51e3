//! What detection can be set to, with defaults that work.

use reading::{Span, WindowSettings};

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
    /// A zone must depart from the expected change by this share to be worth a person's time.
    pub least_excess: f64,
    /// How long zones and sensors take to show what the material in them does.
    pub zone_lag: Span,
    /// How long the evidence must last before an alert is raised.
    pub on_delay: Span,
    /// How long the evidence must be gone before an alert ends.
    pub off_delay: Span,
}

impl Default for DetectionSettings {
    fn default() -> Self {
        Self {
            window: WindowSettings::default(),
            smallest_step: 0.018,
            smallest_creep: 0.035,
            creep_over: Span::minutes(40),
            false_alarms_per_line_month: 1.0,
            least_excess: 0.03,
            zone_lag: Span::seconds(90),
            on_delay: Span::seconds(60),
            off_delay: Span::minutes(5),
        }
    }
}

impl DetectionSettings {
    /// Judgements a line makes in a month: a rise every three hours of baking, each judged
    /// independently about three times while it passes through the oven.
    const JUDGEMENTS_PER_LINE_MONTH: f64 = 30.0 * 8.0 * 3.0;

    /// The chance that one judgement of a rise that was met by practice raises an alert.
    #[must_use]
    pub fn false_alarm_probability(&self) -> f64 {
        (self.false_alarms_per_line_month / Self::JUDGEMENTS_PER_LINE_MONTH).clamp(1e-12, 0.5)
    }
}

//! `[detection]` and `[alerts.KIND]`: what counts as a departure, and how long it must last.

use alert::{Delays, DetectionSettings};
use reading::{Span, WindowSettings};

use super::key::Number;
use super::section::Section;

const WINDOW: Number = Number::optional("window_s", "30").within(5.0, 300.0, "s");
const LATENESS: Number = Number::optional("allowed_lateness_s", "20").within(0.0, 3600.0, "s");
const FALSE_ALARMS: Number =
    Number::optional("false_alarms_per_line_month", "1").within(0.01, 100.0, "alarms a line and month");
const SMALLEST_STEP: Number = Number::optional("smallest_step_pct", "1.8").within(0.5, 20.0, "% of band speed");
const SMALLEST_CREEP: Number = Number::optional("smallest_creep_pct", "3.5").within(1.0, 20.0, "% of band speed");
const CREEP_OVER: Number = Number::optional("creep_over_min", "40").within(5.0, 240.0, "min");
const LEAST_EXCESS: Number = Number::optional("least_excess_pct", "10").within(0.0, 50.0, "% of the expected humidity");
const ZONE_LAG: Number = Number::optional("zone_lag_s", "90").within(0.0, 1800.0, "s");
const STEAM_LIMIT: Number = Number::optional("steam_limit_s", "60").within(1.0, 3600.0, "s");
const ON_DELAY: Number = Number::optional("on_delay_s", "60").within(0.0, 86_400.0, "s");
const OFF_DELAY: Number = Number::optional("off_delay_s", "300").within(0.0, 86_400.0, "s");

pub(super) fn read(detection: &Section<'_>, alerts: &Section<'_>) -> DetectionSettings {
    let defaults = DetectionSettings::default();
    let share = |number: &Number, default| detection.number(number).map_or(default, share_of_percent);
    let seconds = |section: &Section<'_>, number: &Number, default| section.number(number).map_or(default, span);
    let settings = DetectionSettings {
        window: WindowSettings {
            width: detection.count(&WINDOW).map_or(defaults.window.width, |seconds| Span::seconds(seconds as i64)),
            lateness: seconds(detection, &LATENESS, defaults.window.lateness),
        },
        smallest_step: share(&SMALLEST_STEP, defaults.smallest_step),
        smallest_creep: share(&SMALLEST_CREEP, defaults.smallest_creep),
        creep_over: detection
            .number(&CREEP_OVER)
            .map_or(defaults.creep_over, |minutes| Span::seconds((minutes * 60.0) as i64)),
        false_alarms_per_line_month: detection.number(&FALSE_ALARMS).unwrap_or(defaults.false_alarms_per_line_month),
        least_excess: share(&LEAST_EXCESS, defaults.least_excess),
        zone_lag: seconds(detection, &ZONE_LAG, defaults.zone_lag),
        steam_limit: detection.number(&STEAM_LIMIT).map(span),
        rise_delays: delays(alerts, "unmatched-speed-rise", defaults.rise_delays),
        limit_delays: delays(alerts, "zone3-limit", defaults.limit_delays),
        departure_delays: delays(alerts, "departs-from-normal", defaults.departure_delays),
        steam_delays: delays(alerts, "over-steaming", defaults.steam_delays),
        sensor_delays: delays(alerts, "sensor-fault", defaults.sensor_delays),
    };
    detection.finish();
    settings
}

/// The delays of one kind of alert: `[alerts.KIND]`.
fn delays(alerts: &Section<'_>, kind: &'static str, defaults: Delays) -> Delays {
    let section = alerts.section(kind);
    let delays = Delays {
        on: section.number(&ON_DELAY).map_or(defaults.on, span),
        off: section.number(&OFF_DELAY).map_or(defaults.off, span),
    };
    section.finish();
    delays
}

fn span(seconds: f64) -> Span {
    Span((seconds * 1e6).round() as i64)
}

/// 1.8 % is 0.018. A division makes it 0.018000000000000002, and a config that states a default must
/// not give other alerts than one that leaves it out.
fn share_of_percent(percent: f64) -> f64 {
    format!("{percent}e-2").parse().unwrap_or(percent / 100.0)
}

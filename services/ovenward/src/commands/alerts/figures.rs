//! The figures behind an alert, and what to try.

use std::io::{self, Write};

use alert::Alert;

/// Writes the zones of an alert and its advice, a line each.
pub(crate) fn write_figures(alert: &Alert, out: &mut dyn Write) -> io::Result<()> {
    for zone in &alert.zones {
        let figure = |value: Option<f64>| value.map_or_else(|| "-".into(), |value| format!("{value:.1}"));
        writeln!(
            out,
            "       zone {}: {:>5} before, {:>5.1} now, {:>5.1} expected ({} to {}) % vol",
            zone.zone,
            figure(zone.before),
            zone.observed,
            zone.expected,
            figure(zone.low),
            figure(zone.high)
        )?;
    }
    for (number, advice) in alert.advice.iter().enumerate() {
        writeln!(out, "       {}. {}", number + 1, advice.text())?;
    }
    writeln!(out, "       {}", alert.caution)
}

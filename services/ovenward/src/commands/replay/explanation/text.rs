//! The evidence of an alert, for a person at a terminal.

use std::io::{self, Write};

use alert::Finding;
use reading::{RunningState, ShiftCalendar, Span};

use super::figures::{Explanation, Judged, JudgedZone, Measured};

/// The path of the test is shown until this long after the alert was raised.
const SHOWN_AFTER: Span = Span::minutes(2);
/// Zones that depart by fewer standard deviations are not named as a reason.
const WORTH_NAMING: f64 = 2.0;

/// Writes the evidence of an alert.
pub(super) fn write(explanation: &Explanation, calendar: &ShiftCalendar, out: &mut dyn Write) -> io::Result<()> {
    let alert = &explanation.alert;
    let ended =
        alert.ended.map_or_else(|| "stands".into(), |ended| format!("ended {}", calendar.wall_clock_seconds(ended)));
    writeln!(out, "{}  {} of {}", alert.id, alert.kind.name(), alert.line)?;
    writeln!(out, "{}", alert.message)?;
    writeln!(
        out,
        "{}: began {}, raised {}, {ended}; product {}, normal {}",
        calendar.date(alert.began),
        calendar.wall_clock_seconds(alert.began),
        calendar.wall_clock_seconds(alert.raised),
        alert.product.as_deref().unwrap_or("unknown"),
        alert.normal.as_deref().unwrap_or("none")
    )?;
    if let Some(deciding) = explanation.deciding() {
        write_reason(explanation, deciding, out)?;
        write_zones(explanation, deciding, calendar, out)?;
        write_test(explanation, deciding, calendar, out)?;
    }
    write_windows(&explanation.windows, calendar, out)
}

/// Why an alert, and why this one.
fn write_reason(explanation: &Explanation, deciding: &Judged, out: &mut dyn Write) -> io::Result<()> {
    let chance = 1.0 - explanation.alert.confidence.unwrap_or_default();
    let (seldom, threshold) = (once_in(chance), once_in(explanation.threshold));
    writeln!(
        out,
        "\nWhy an alert: a rise that was met looks like this once in {seldom}; the threshold is once in {threshold}."
    )?;
    if let Some((share, z)) = deciding.unanswered_share.zip(deciding.unanswered_z) {
        let share = 100.0 * share;
        writeln!(out, "Of the load it brings, {share:.0} % stays in the zones (100 %: in step with it); z {z:+.1}.")?;
    }
    if let Some(source) = &explanation.practice_from {
        writeln!(out, "Practice is known from {source}.")?;
    }
    let finding = explanation.alert.finding;
    writeln!(out, "Why {}: {}.", finding.name(), meaning(finding))?;
    let mut telling: Vec<&JudgedZone> = deciding.zones.iter().filter(|zone| zone.reached).collect();
    telling.retain(|zone| zone.z.abs() >= WORTH_NAMING);
    telling.sort_by(|left, right| right.z.abs().total_cmp(&left.z.abs()));
    for JudgedZone { zone, z, excess_pct, .. } in telling {
        let side = if *z > 0.0 { "more" } else { "less" };
        let excess = excess_pct.abs();
        writeln!(out, "  zone {zone} holds {excess:.0} % {side} water than practice makes it: z {z:+.1}")?;
    }
    Ok(())
}

/// One chance in so many, to two digits.
fn once_in(chance: f64) -> String {
    let times = 1.0 / chance;
    if times < 1e5 { format!("{times:.0}") } else { format!("{times:.0e}") }
}

fn meaning(finding: Finding) -> &'static str {
    match finding {
        Finding::Carryover => "the zones that follow the load are wetter than practice makes them",
        Finding::SteamShort => "zone 1 is drier than practice makes it",
        Finding::OverVented => "every zone is drier",
        Finding::NoResponse => {
            "dampers and steam stayed as they were, and the late zones did not move as the load says they must"
        }
        _ => "see the message",
    }
}

/// Both expectations and what came, zone by zone, when the alert was raised.
fn write_zones(
    explanation: &Explanation,
    deciding: &Judged,
    calendar: &ShiftCalendar,
    out: &mut dyn Write,
) -> io::Result<()> {
    let (now, before) = (deciding.band_speed_m_min, deciding.before_m_min);
    writeln!(out, "\nWhen it was raised, at {now:.2} m/min after {before:.2}, % vol")?;
    writeln!(out, "  zone   reached  before  by practice       95 of 100  untouched  usual  observed      z")?;
    for zone in &deciding.zones {
        let reached = explanation.reached.get(zone.zone - 1).copied().flatten().filter(|_| zone.reached);
        writeln!(
            out,
            "  {:>4}  {:>8}  {:>6.1}  {:>11.1}  {:>14}  {:>9.1}  {:>5}  {:>8.1}  {:>5}",
            zone.zone,
            reached.map_or_else(|| "not yet".into(), |at| calendar.wall_clock_seconds(at)),
            zone.before_pct,
            zone.by_practice_pct,
            format!("{:.1} to {:.1}", zone.low_pct, zone.high_pct),
            zone.untouched_pct,
            zone.usual_pct.map_or_else(|| "-".into(), |usual| format!("{usual:.1}")),
            zone.observed_pct,
            if zone.reached { format!("{:+.1}", zone.z) } else { "-".into() },
        )?;
    }
    writeln!(out, "  by practice: before, with what practice makes of such a rise; z is held against this")?;
    writeln!(out, "  untouched: before, in step with the load, if nobody touches a damper or the steam")?;
    writeln!(out, "  usual: what the normal holds at this speed, whatever was before")
}

/// The path of the test until it was decided.
fn write_test(
    explanation: &Explanation,
    deciding: &Judged,
    calendar: &ShiftCalendar,
    out: &mut dyn Write,
) -> io::Result<()> {
    let heading: String = deciding.zones.iter().map(|zone| format!("{:>6}", format!("z{}", zone.zone))).collect();
    writeln!(
        out,
        "\nThe test, window by window, from the first zone reached: z of each, and the share of the load that stays"
    )?;
    writeln!(out, "  time       m/min{heading}   stays      z")?;
    let shown = |judged: &&Judged| judged.zones_reached > 0 && judged.at <= deciding.at + SHOWN_AFTER;
    for judged in explanation.test.iter().filter(shown) {
        let z = |zone: &JudgedZone| if zone.reached { format!("{:+6.1}", zone.z) } else { format!("{:>6}", "·") };
        let zones: String = judged.zones.iter().map(z).collect();
        let stays = judged.unanswered_share.map_or_else(|| "-".into(), |share| format!("{:.0} %", 100.0 * share));
        let z = judged.unanswered_z.map_or_else(|| "-".into(), |z| format!("{z:+.1}"));
        let mark = match judged.finding {
            _ if judged.at == deciding.at => "  raised",
            Some(_) if judged.at < deciding.at => "  beyond the threshold",
            _ => "",
        };
        let (time, speed) = (calendar.wall_clock_seconds(judged.at), judged.band_speed_m_min);
        writeln!(out, "  {time}  {speed:>6.2}{zones}  {stays:>6}  {z:>5}{mark}")?;
    }
    Ok(())
}

/// What was measured around the alert.
fn write_windows(windows: &[Measured], calendar: &ShiftCalendar, out: &mut dyn Write) -> io::Result<()> {
    let zones = windows.iter().map(|window| window.zones.len()).max().unwrap_or(0);
    let has_dampers = windows.iter().flat_map(|window| &window.zones).any(|zone| zone.exhaust_damper_pct.is_some());
    let numbered = |width: usize| (1..=zones).map(|zone| format!("{zone:>width$}")).collect::<String>();
    let dampers = if has_dampers { format!("  damper{}", numbered(3)) } else { String::new() };
    writeln!(out, "\nWindows around it: zones in % vol, dampers in %, steam in kg/h, distance to the normal as a z")?;
    writeln!(out, "  begins    state        m/min  steam  zone{}{dampers}  normal", numbered(6))?;
    for window in windows {
        let humidities: String = window.zones.iter().map(|zone| cell(zone.moisture_pct, 6, 1)).collect();
        let openings: String = window.zones.iter().map(|zone| cell(zone.exhaust_damper_pct, 3, 0)).collect();
        let openings = if has_dampers { format!("        {openings}") } else { String::new() };
        writeln!(
            out,
            "  {}  {:<11}{}{}      {humidities}{openings}{}",
            calendar.wall_clock_seconds(window.starts),
            state(window.state),
            cell(window.band_speed_m_min, 7, 2),
            cell(window.steam_flow_kg_h, 7, 0),
            cell(window.departure, 8, 1)
        )?;
    }
    Ok(())
}

fn cell(value: Option<f64>, width: usize, decimals: usize) -> String {
    value.map_or_else(|| format!("{:>width$}", "-"), |value| format!("{value:>width$.decimals$}"))
}

fn state(state: RunningState) -> &'static str {
    match state {
        RunningState::Baking => "baking",
        RunningState::Gap => "gap",
        RunningState::Changeover => "changeover",
        RunningState::Heating => "empty",
        RunningState::Stopped => "stopped",
    }
}

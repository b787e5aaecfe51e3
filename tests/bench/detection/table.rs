//! The report as a table.

use std::io::{self, Write};

use detection_benchmark::event::Truth;
use detection_benchmark::family;
use detection_benchmark::interval::{poisson, wilson};
use detection_benchmark::ovens;
use detection_benchmark::score::{Group, Score};

/// Days of a line-month.
const MONTH: f64 = 30.0;

/// Writes what was found, family by family and oven by oven, and what was raised for nothing.
pub(crate) fn write(score: &Score, out: &mut impl Write) -> io::Result<()> {
    writeln!(
        out,
        "{:<42} {:>6} {:>7} {:>13} {:>7} {:>7} {:>6} {:>6}",
        "rises that nobody met", "events", "recall", "95 %", "named", "median", "p90", "false"
    )?;
    for family in family::ALL.iter().filter(|family| family.truth == Truth::UnmatchedRise) {
        rises(family.name, &score.group(|event| event.family == family.name), out)?;
    }
    for oven in ovens::all() {
        for (sizes, low, high) in [("4-7 %", 4.0, 7.0), ("7 % or more", 7.0, 100.0)] {
            let group = score.rises(|event| {
                event.oven == oven.name
                    && event.family.starts_with("rise ")
                    && event.size_pct.is_some_and(|size| (low..high).contains(&size))
            });
            if group.events > 0 {
                rises(&format!("{}: {sizes}", oven.name), &group, out)?;
            }
        }
    }
    writeln!(out, "\n{:<42} {:>6} {:>7}", "nothing wrong, or not with the rate", "events", "false")?;
    for family in family::ALL.iter().filter(|family| family.truth != Truth::UnmatchedRise) {
        let group = score.group(|event| event.family == family.name);
        writeln!(out, "{:<42} {:>6} {:>7}", family.name, group.events, group.false_alarms)?;
    }
    for (name, count, days) in [
        ("clean line-days", score.clean_false_alarms.len(), score.clean_days),
        ("line-days of events", score.event_false_alarms, score.event_days),
    ] {
        let (low, high) = poisson(count, days / MONTH);
        let rate = count as f64 * MONTH / days;
        writeln!(
            out,
            "\n{days:.0} {name}: {count} false alarms, {rate:.2} per line-month (95 %: {low:.2} to {high:.2})"
        )?;
    }
    writeln!(out, "alerts per shift on the clean days: {:.3}", score.clean_alarms as f64 / (score.clean_days * 3.0))
}

fn rises(name: &str, group: &Group, out: &mut impl Write) -> io::Result<()> {
    let (low, high) = wilson(group.found, group.events);
    let share = |part: usize, of: usize| if of == 0 { "-".into() } else { format!("{:.3}", part as f64 / of as f64) };
    let delay = |share| group.delay(share).map_or_else(|| "-".into(), |delay: f64| format!("{delay:.2}"));
    writeln!(
        out,
        "{name:<42} {:>6} {:>7} {:>13} {:>7} {:>7} {:>6} {:>6}",
        group.events,
        share(group.found, group.events),
        format!("{low:.3}-{high:.3}"),
        share(group.named, group.found),
        delay(0.5),
        delay(0.9),
        group.false_alarms
    )
}

/// Writes every event that was missed or wrongly named, and every false alarm.
pub(crate) fn list(score: &Score, out: &mut impl Write) -> io::Result<()> {
    for alarm in &score.clean_false_alarms {
        writeln!(out, "{} {} clean day: false {} {}", alarm.raised, alarm.oven, alarm.kind, alarm.finding)?;
    }
    for judged in &score.judged {
        let event = &judged.event;
        let wrong = match &judged.alarm {
            None if event.truth == Truth::UnmatchedRise => Some("missed".to_owned()),
            Some(alarm) if Some(&alarm.finding) != event.finding.as_ref() => Some(format!("named {}", alarm.finding)),
            _ => None,
        };
        let size = event.size_pct.map_or_else(String::new, |size| format!(" {size} %"));
        if let Some(wrong) = wrong {
            writeln!(out, "{} {} {}{size}: {wrong}", event.began, event.oven, event.family)?;
        }
        for alarm in &judged.false_alarms {
            let (kind, finding) = (&alarm.kind, &alarm.finding);
            writeln!(out, "{} {} {}{size}: false {kind} {finding}", alarm.raised, event.oven, event.family)?;
        }
    }
    Ok(())
}

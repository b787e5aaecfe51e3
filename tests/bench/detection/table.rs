//! One method's score as a table for the terminal.

use std::io::{self, Write};

use detection_benchmark::event::Truth;
use detection_benchmark::interval::wilson;
use detection_benchmark::score::{FalseAlarms, Score};

use crate::report::{Row, rows};

/// Writes what was found, family by family and oven by oven, and what was raised for nothing.
pub(crate) fn write(score: &Score, out: &mut impl Write) -> io::Result<()> {
    let (rises, others): (Vec<Row>, Vec<Row>) =
        rows(score).into_iter().partition(|row| row.truth == Truth::UnmatchedRise);
    writeln!(
        out,
        "{:<46} {:>6} {:>6} {:>13} {:>6} {:>6} {:>6} {:>6}",
        "rises that nobody met", "events", "recall", "95 %", "named", "median", "p90", "false"
    )?;
    for Row { name, group, .. } in &rises {
        let (low, high) = wilson(group.found, group.events);
        let share = |part: usize, of: usize| match of {
            0 => "-".into(),
            of => format!("{:.3}", part as f64 / of as f64),
        };
        let delay = |share| group.delay(share).map_or_else(|| "-".into(), |delay: f64| format!("{delay:.2}"));
        writeln!(
            out,
            "{name:<46} {:>6} {:>6} {:>13} {:>6} {:>6} {:>6} {:>6}",
            group.events,
            share(group.found, group.events),
            format!("{low:.3}-{high:.3}"),
            share(group.named, group.found),
            delay(0.5),
            delay(0.9),
            group.false_alarms
        )?;
    }
    writeln!(out, "\n{:<46} {:>6} {:>6} {:>6}", "nothing wrong, or not with the rate", "events", "told", "false")?;
    for Row { name, truth, group } in &others {
        let told = if *truth == Truth::NothingWrong { "-".into() } else { group.found.to_string() };
        writeln!(out, "{name:<46} {:>6} {told:>6} {:>6}", group.events, group.false_alarms)?;
    }
    writeln!(out)?;
    for (name, alarms) in [("clean line-days", score.on_clean_days()), ("line-days of events", score.during_events())] {
        let FalseAlarms { count, days, per_line_month, low, high } = alarms;
        writeln!(
            out,
            "{days:.0} {name}: {count} false alarms, {per_line_month:.2} per line-month (95 %: {low:.2} to {high:.2})"
        )?;
    }
    writeln!(out, "alerts per shift on the clean days: {:.3}", score.alerts_per_shift())
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

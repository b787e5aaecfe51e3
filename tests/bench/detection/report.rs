//! All methods beside each other: one table for people, one file for machines.

use std::fs;
use std::io::Write;
use std::path::Path;

use anyhow::{Context, Result};
use detection_benchmark::event::{ANY_KIND, Alarm, Truth};
use detection_benchmark::interval::wilson;
use detection_benchmark::score::{FalseAlarms, Group, Score};
use detection_benchmark::stream::{OVENWARD, Outcome};
use detection_benchmark::{family, ovens};
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use reading::Timestamp;

use crate::table;

/// A group of events that is reported.
pub(crate) struct Row {
    pub(crate) name: String,
    pub(crate) truth: Truth,
    pub(crate) group: Group,
}

/// The sizes by which the bars are set.
const SIZES: [(&str, f64, f64); 3] = [("3-4 %", 3.0, 4.0), ("4-7 %", 4.0, 7.0), ("7 % or more", 7.0, 100.0)];

/// Every group of events there is: sizes without venting, families, ovens.
pub(crate) fn rows(score: &Score) -> Vec<Row> {
    let row = |name: String, truth, group| Row { name, truth, group };
    let sizes = SIZES.iter().map(|(size, low, high)| {
        row(
            format!("without venting, {size}"),
            Truth::UnmatchedRise,
            score.rises(|event| event.is_plain_rise(*low, *high)),
        )
    });
    let families = family::ALL.iter().map(|family| {
        let group = score.group(|event| event.family == family.name);
        row(family.name.into(), family.truth, group)
    });
    let ovens = ovens::all();
    let ovens = ovens.iter().flat_map(|oven| {
        SIZES[1..].iter().map(|(size, low, high)| {
            let group = score.rises(|event| event.oven == oven.name && event.is_plain_rise(*low, *high));
            row(format!("{}: {size}", oven.name), Truth::UnmatchedRise, group)
        })
    });
    sizes.chain(families).chain(ovens).filter(|row| row.group.events > 0).collect()
}

/// Reports our own method, the recorded others, "never" and "random".
pub(crate) fn write(outcomes: &[Outcome], others: &[Alarm], folder: &Path, out: &mut impl Write) -> Result<()> {
    let own = Score::of(outcomes, |outcome| &outcome.alarms);
    table::write(&own, out)?;
    let random = random_alarms(outcomes, own.budget());
    let mut methods = vec![(OVENWARD.to_owned(), own)];
    for alarm in others.iter().chain(&random) {
        if methods.iter().all(|(name, _)| *name != alarm.method) {
            let alarms: Vec<Alarm> =
                others.iter().chain(&random).filter(|other| other.method == alarm.method).cloned().collect();
            methods.push((alarm.method.clone(), Score::of(outcomes, |_| &alarms)));
        }
    }
    methods.push(("never".into(), Score::of(outcomes, |_| &[])));
    let comparison = comparison(&methods);
    writeln!(out, "\n{comparison}")?;
    save(&folder.join("report.md"), &format!("{comparison}\n{}", families(&methods[0].1)))?;
    save(&folder.join("report.csv"), &csv(&methods))
}

fn save(path: &Path, text: &str) -> Result<()> {
    fs::write(path, text).with_context(|| format!("can't write {}", path.display()))
}

/// Alarms at random times, on the clean days as many as the budget allows.
fn random_alarms(outcomes: &[Outcome], budget: usize) -> Vec<Alarm> {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(1);
    let days = |from: Timestamp, to: Timestamp| (to - from).as_seconds() / 86_400.0;
    let clean: f64 = outcomes.iter().map(|outcome| days(outcome.learned_until, outcome.clean_until)).sum();
    let mut alarms = Vec::new();
    for outcome in outcomes {
        let wanted = budget as f64 / clean * days(outcome.learned_until, outcome.ends);
        let count = wanted.floor() as usize + usize::from(rng.gen_bool(wanted.fract()));
        alarms.extend((0..count).map(|_| Alarm {
            method: "random".into(),
            oven: outcome.oven.clone(),
            raised: Timestamp(rng.gen_range(outcome.learned_until.0..outcome.ends.0)),
            kind: ANY_KIND.into(),
            finding: String::new(),
        }));
    }
    alarms
}

/// A column of the comparison: its name and which events it counts.
const COLUMNS: [(&str, &[&str]); 9] = [
    ("3-4 %", &["rise 3-4 %"]),
    ("4-7 %", &["rise 4-7 %"]),
    ("7-12 %", &["rise 7-12 %"]),
    ("12-18 %", &["rise 12-18 %"]),
    ("half venting", &["half venting, 5-18 %"]),
    ("steam starved", &["steam starved, 5-18 %"]),
    ("lying speed tag", &["lying speed tag, 5-18 %"]),
    ("creep", &["creep, 6-18 %"]),
    ("bad data", &["rise 7-12 %, late data", "rise 7-12 %, a probe lost"]),
];

/// The one table: recall by what happened, delay, false alarms, method by method.
fn comparison(methods: &[(String, Score)]) -> String {
    let mut text = String::from("| method |");
    COLUMNS.iter().for_each(|(name, _)| text += &format!(" {name} |"));
    text += " delay, median (p90) | false alarms a line-month, clean (95 %) | during events |\n|";
    text += &" --- |".repeat(COLUMNS.len() + 4);
    text += "\n";
    for (name, score) in methods {
        text += &format!("| {name} |");
        for (_, families) in COLUMNS {
            let group = score.group(|event| families.contains(&event.family.as_str()));
            text += &format!(" {} |", share(group.found, group.events));
        }
        let all = score.rises(|event| event.is_plain_rise(7.0, 100.0));
        let FalseAlarms { per_line_month, low, high, .. } = score.on_clean_days();
        let during = score.during_events().per_line_month;
        text += &format!(
            " {} ({}) | {per_line_month:.1} ({low:.1}-{high:.1}) | {during:.1} |\n",
            delay(&all, 0.5),
            delay(&all, 0.9)
        );
    }
    text
}

/// What our own method made of every group.
fn families(score: &Score) -> String {
    let mut text = String::from(
        "| events | number | recall (95 %) | rightly named | delay, median (p90) | false alarms |\n\
         | --- | --- | --- | --- | --- | --- |\n",
    );
    for Row { name, truth, group } in rows(score) {
        let (low, high) = wilson(group.found, group.events);
        let found = match truth {
            Truth::UnmatchedRise => format!(
                "{} ({low:.3}-{high:.3}) | {} | {} ({})",
                share(group.found, group.events),
                share(group.named, group.found),
                delay(&group, 0.5),
                delay(&group, 0.9)
            ),
            Truth::SensorFault | Truth::Disturbance => {
                format!("told of {} ({low:.3}-{high:.3}) | |", share(group.found, group.events))
            }
            Truth::NothingWrong => "| |".into(),
        };
        text += &format!("| {name} | {} | {found} | {} |\n", group.events, group.false_alarms);
    }
    text
}

fn csv(methods: &[(String, Score)]) -> String {
    let mut text = String::from(
        "method,events_of,events,found,recall,recall_low,recall_high,named,delay_median,delay_p90,false_alarms,\
         days,per_line_month,rate_low,rate_high\n",
    );
    for (method, score) in methods {
        for Row { name, truth, group } in rows(score) {
            let (low, high) = wilson(group.found, group.events);
            let found = match truth {
                Truth::UnmatchedRise => format!(
                    "{},{},{low:.4},{high:.4},{},{},{}",
                    group.found,
                    share(group.found, group.events),
                    group.named,
                    delay(&group, 0.5),
                    delay(&group, 0.9)
                ),
                Truth::SensorFault | Truth::Disturbance => {
                    format!("{},{},{low:.4},{high:.4},,,", group.found, share(group.found, group.events))
                }
                Truth::NothingWrong => ",,,,,,".into(),
            };
            text += &format!("\"{method}\",\"{name}\",{},{found},{},,,,\n", group.events, group.false_alarms);
        }
        for (name, alarms) in [("clean days", score.on_clean_days()), ("days of events", score.during_events())] {
            let FalseAlarms { count, days, per_line_month, low, high } = alarms;
            text += &format!("\"{method}\",{name},,,,,,,,,{count},{days:.2},{per_line_month:.3},{low:.3},{high:.3}\n");
        }
    }
    text
}

fn share(part: usize, of: usize) -> String {
    match of {
        0 => "-".into(),
        of => format!("{:.3}", part as f64 / of as f64),
    }
}

fn delay(group: &Group, share: f64) -> String {
    group.delay(share).map_or_else(|| "-".into(), |delay| format!("{delay:.2}"))
}

//! The mail as plain text.

use std::fmt::Write;

use alert::advice::CAUTION;
use alert::{Alert, ZoneFigures};
use reading::{Plant, Timestamp};

use crate::channel::Notice;
use crate::words::{self, Side};

pub(super) fn of(notices: &[Notice], plant: &Plant, now: Timestamp) -> String {
    let mut text = String::new();
    match notices {
        [notice] => whole(&mut text, notice, plant, now),
        _ => {
            for notice in notices {
                brief(&mut text, notice, plant, now);
            }
            let _ = writeln!(text, "{CAUTION}\n");
        }
    }
    text + &super::foot(plant) + "\n"
}

// What is written goes to a String, which takes everything.

fn whole(text: &mut String, notice: &Notice, plant: &Plant, now: Timestamp) {
    let alert = &notice.alert;
    let _ = writeln!(text, "{}\n", words::subject(notice, plant));
    if let Some(sentence) = super::late(notice, plant, now) {
        let _ = writeln!(text, "{sentence}\n");
    }
    let _ = writeln!(text, "{}\n\n{}\n", alert.message, words::standing(notice, plant));
    zones(text, &alert.zones);
    advice(text, alert);
    let _ = writeln!(text, "{}\n\n{}\n", alert.caution, super::particulars(notice, plant));
}

fn brief(text: &mut String, notice: &Notice, plant: &Plant, now: Timestamp) {
    let _ = writeln!(text, "{}\n  {}", words::subject(notice, plant), notice.alert.message);
    if let Some(sentence) = super::late(notice, plant, now) {
        let _ = writeln!(text, "  {sentence}");
    }
    let _ = writeln!(text, "  {}\n  {}\n", words::standing(notice, plant), super::particulars(notice, plant));
}

fn zones(text: &mut String, zones: &[ZoneFigures]) {
    if zones.is_empty() {
        return;
    }
    let _ = writeln!(text, "Moisture, % vol\n  zone    now  expected");
    for zone in zones {
        let expected = super::picture::expected(zone);
        let _ = writeln!(text, "  {:>4}  {:>5.1}  {expected:<12}  {}", zone.zone, zone.observed, Side::of(zone).text());
    }
    text.push('\n');
}

fn advice(text: &mut String, alert: &Alert) {
    if !alert.stands() || alert.advice.is_empty() {
        return;
    }
    let _ = writeln!(text, "What to try, first things first");
    for (index, advice) in alert.advice.iter().enumerate() {
        let _ = writeln!(text, "  {}. {}", index + 1, advice.text());
    }
    text.push('\n');
}

//! `[[shift]]`: when shifts begin, in the site's local time.

use chrono::{NaiveTime, Weekday};
use reading::shift::ShiftRule;

use super::key::Key;
use super::nearest::nearest;
use super::section::Section;

const NAME: Key = Key::required("name", "\"early\"");
const STARTS: Key = Key::required("starts", "\"06:00\"");
const DAYS: Key = Key::optional("days", "[\"mon\", \"tue\", \"wed\", \"thu\", \"fri\"]");

const WEEKDAYS: [(&str, Weekday); 7] = [
    ("mon", Weekday::Mon),
    ("tue", Weekday::Tue),
    ("wed", Weekday::Wed),
    ("thu", Weekday::Thu),
    ("fri", Weekday::Fri),
    ("sat", Weekday::Sat),
    ("sun", Weekday::Sun),
];

pub(super) fn read_all(sections: &[Section<'_>]) -> Vec<ShiftRule> {
    let mut rules: Vec<ShiftRule> = Vec::new();
    for section in sections {
        let Some(rule) = read(section) else { continue };
        let sharing = |other: &&ShiftRule| {
            rule.days.is_empty() || other.days.is_empty() || rule.days.iter().any(|day| other.days.contains(day))
        };
        for other in rules.iter().filter(sharing) {
            if other.starts == rule.starts {
                let message = format!("the shifts {:?} and {:?} begin at the same time", other.name, rule.name);
                section.faults().add(section.at_key(STARTS.name), message, "another time, or days that differ");
            }
            if other.name == rule.name {
                let message = format!("there are two shifts {:?} on one day", rule.name);
                section.faults().add(section.at_key(NAME.name), message, "another name, or days that differ");
            }
        }
        rules.push(rule);
    }
    rules
}

fn read(section: &Section<'_>) -> Option<ShiftRule> {
    let name = read_name(section);
    let starts = time_of_day(section, &STARTS);
    let days = read_days(section);
    section.finish();
    Some(ShiftRule { name: name?.into(), starts: starts?, days })
}

/// A time on the clock on the wall.
pub(super) fn time_of_day(section: &Section<'_>, key: &Key) -> Option<NaiveTime> {
    let text = section.text(key)?;
    let time = NaiveTime::parse_from_str(text.get_ref(), "%H:%M").ok();
    if time.is_none() {
        let message = format!("{} {:?} is not a time of day", key.name, text.get_ref());
        section.faults().add(text.span().start, message, format!("{} (00:00 to 23:59)", key.advice()));
    }
    time
}

/// A shift's name stands in a topic.
fn read_name(section: &Section<'_>) -> Option<String> {
    let name = section.text(&NAME)?;
    if name.get_ref().contains(['/', '+', '#']) || name.get_ref().contains(char::is_control) {
        let message = format!("name {:?} can't stand in a topic: it has one of / + #", name.get_ref());
        section.faults().add(name.span().start, message, NAME.advice());
        return None;
    }
    Some(name.into_inner())
}

fn read_days(section: &Section<'_>) -> Vec<Weekday> {
    let mut days = Vec::new();
    for text in section.texts(&DAYS).unwrap_or_default() {
        let word = text.get_ref().to_lowercase();
        match WEEKDAYS.iter().find(|(name, _)| *name == word) {
            Some((_, day)) => days.push(*day),
            None => {
                let names = || WEEKDAYS.iter().map(|(name, _)| *name);
                // "Monday" is nearer to "mon" than any measure of likeness says.
                let near = names().find(|name| word.starts_with(name)).or_else(|| nearest(&word, names()));
                let advice = near.map_or_else(|| DAYS.advice(), |near| format!("{near:?}"));
                section.faults().add(text.span().start, format!("{:?} is not a day", text.get_ref()), advice);
            }
        }
    }
    days
}

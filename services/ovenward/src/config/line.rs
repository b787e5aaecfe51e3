//! `[[line]]`: an oven, its zones in the direction of travel, and what is measured on it.

use std::sync::Arc;

use physics::units::Metre;
use reading::{Firing, Line, LineIndex, Quantity, Zone};

use super::defaults::Defaults;
use super::identity::identity;
use super::key::{Choice, Key, Number};
use super::payload::Payloads;
use super::section::Section;
use super::signals::{self, Signals};
use super::topic::Place;

const ID: Key = Key::required("id", "\"tunnel-1\"");
const NAME: Key = Key::optional("name", "\"Tunnel oven 1\"");
const FIRING: Choice<Firing> = Choice {
    key: Key::required("firing", "\"direct\""),
    words: &[("direct", Firing::Direct), ("indirect", Firing::Indirect), ("electric", Firing::Electric)],
};
const FUEL: Key = Key::optional("fuel", "\"natural-gas\"");
const STEAM_SECTION: Number = Number::optional("steam_section_m", "1.2").within(0.1, 50.0, "m");
const ZONES: Number = Number::optional("zones", "4").within(1.0, 20.0, "zones");
const ZONE_LENGTH: Number = Number::required("length_m", "7.0").within(0.5, 100.0, "m");

/// What one `[[line]]` says.
pub(super) struct LineRead {
    /// `None` if a part of it is wrong; its signals are checked all the same.
    pub(super) line: Option<Line>,
    pub(super) signals: Signals,
    /// Where its header stands.
    pub(super) at: usize,
}

/// Reads every `[[line]]`; `payloads` is how payloads are made unless a signal says otherwise.
pub(super) fn read_all<'a>(
    sections: Vec<Section<'a>>,
    defaults: &'a Defaults<'a>,
    payloads: &Payloads,
) -> Vec<LineRead> {
    let mut ids = Vec::new();
    let lines: Vec<LineRead> = sections
        .into_iter()
        .enumerate()
        .map(|(index, section)| read(section, LineIndex(index), defaults, payloads, &mut ids))
        .collect();
    if !lines.is_empty() {
        defaults.finish();
    }
    lines
}

fn read<'a>(
    section: Section<'a>,
    index: LineIndex,
    defaults: &'a Defaults<'a>,
    payloads: &Payloads,
    ids: &mut Vec<Arc<str>>,
) -> LineRead {
    // What is read before `with_fallback` is each line's own.
    let id = read_id(&section, ids);
    let name = section.text(&NAME).map(|name| name.into_inner());
    let line_signals = section.section("signals").with_fallback(&defaults.line_signals);
    let own_zones = section.sections("zone");
    let section = section.with_fallback(&defaults.line);
    let firing = section.choice(&FIRING).map(|firing| firing.into_inner());
    let fuel = read_fuel(&section, firing);
    let steam_section = section.number(&STEAM_SECTION).map(Metre);
    let zone_sections = zones_or_default_ones(&section, own_zones, defaults);
    let mut misspelt = section.finish();

    let place = Place { line: id.as_deref().unwrap_or("?"), index, zone: None };
    let mut signals = signals::read(&line_signals, place, payloads);
    let mut zones = Vec::new();
    for (number, zone) in (1..).zip(zone_sections) {
        let zone_signals = zone.section("signals").with_fallback(&defaults.zone_signals);
        let zone = zone.with_fallback(&defaults.zone);
        zones.push(zone.number(&ZONE_LENGTH).map(|length| Zone { length: Metre(length) }));
        misspelt.extend(zone.finish());
        signals.extend(signals::read(&zone_signals, Place { zone: Some(number), ..place }, payloads));
    }
    if !misspelt.iter().any(|key| ["signals", "zone"].contains(key)) {
        check_completeness(&section, zones.len(), &signals.stated);
    }
    let zones = zones.into_iter().collect::<Option<Vec<Zone>>>();
    let line = id.zip(firing).zip(zones).map(|((id, firing), zones)| {
        let name = name.unwrap_or_else(|| id.to_string());
        Line { id, name, firing, fuel, steam_section, zones }
    });
    if let Some(line) = &line {
        check_steam_section(&section, line);
    }
    LineRead { line, signals, at: section.at() }
}

fn read_id(section: &Section<'_>, ids: &mut Vec<Arc<str>>) -> Option<Arc<str>> {
    let id = identity(section, &ID, &section.text(&ID)?)?;
    if ids.contains(&id) {
        section.faults().add(section.at_key(ID.name), format!("there are two lines {id:?}"), "another id");
    }
    ids.push(id.clone());
    Some(id)
}

/// A default fuel is not for an electric oven.
fn read_fuel(section: &Section<'_>, firing: Option<Firing>) -> Option<String> {
    let fuel = section.text(&FUEL).map(|fuel| fuel.into_inner());
    if firing != Some(Firing::Electric) {
        return fuel;
    }
    if section.own(FUEL.name).is_some() {
        let advice = "firing = \"direct\" or \"indirect\", or no fuel";
        section.faults().add(section.at_key(FUEL.name), "an electric oven burns no fuel", advice);
    }
    None
}

/// The zones that the line states itself, or as many default ones as `zones` says.
fn zones_or_default_ones<'a>(
    section: &Section<'a>,
    own: Vec<Section<'a>>,
    defaults: &'a Defaults<'a>,
) -> Vec<Section<'a>> {
    let count = section.count(&ZONES).unwrap_or(0);
    let at = section.at_key(ZONES.key.name);
    if own.is_empty() {
        return (0..count).map(|_| Section::of_fallback(&defaults.zone, at)).collect();
    }
    if section.own(ZONES.key.name).is_some() {
        let message = "zones stands for default zones, but the line has zones of its own";
        section.faults().add(at, message, "either zones, or [[line.zone]] for each zone");
    }
    own
}

/// What a line needs for its load to be seen at all.
fn check_completeness(section: &Section<'_>, zones: usize, stated: &[Quantity]) {
    let measures = |quantities: &[Quantity]| stated.iter().any(|quantity| quantities.contains(quantity));
    if !measures(&[Quantity::BandSpeed, Quantity::BakeTime]) {
        let advice = "band_speed = { topic = \"mill/{line}/band\", unit = \"m/min\" } below [line.signals]";
        section.fault("the line has neither band_speed nor bake_time", advice);
    }
    if zones == 0 {
        section.fault("the line has no zone", "[[line.zone]] with length_m, for each zone");
    } else if !measures(&[Quantity::DewPoint, Quantity::Moisture, Quantity::HumidityRatio]) {
        let advice = "dew_point = { topic = \"mill/{line}/z{zone}/dew\", unit = \"degC\" } below [line.zone.signals]";
        section.fault("the line measures humidity in no zone", advice);
    }
}

fn check_steam_section(section: &Section<'_>, line: &Line) {
    if let Some(steam) = line.steam_section.filter(|steam| steam.0 > line.length().0) {
        let message = format!("steam_section_m = {} is longer than the oven ({} m)", steam.0, line.length().0);
        section.faults().add(section.at_key(STEAM_SECTION.key.name), message, STEAM_SECTION.advice());
    }
}

//! What makes a departure: which zone, and whether its damper, the steam or its temperature moved.

use normal_profile::Departure;
use reading::Window;

use crate::finding::Finding;
use crate::following::{OVER_AN_HOUR, OVER_TEN_MINUTES, follow, towards};

/// A damper that has moved by this much, in points of its opening, has moved.
const DAMPER_MOVED_PCT: f64 = 3.0;
/// Steam that has changed by this share has changed.
const STEAM_CHANGED: f64 = 0.08;

/// What makes a departure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Attribution {
    pub(crate) finding: Finding,
    /// The zone that makes most of it, from 1.
    pub(crate) zone: usize,
    /// Whether that zone is wetter (or, for a temperature, hotter) than normal.
    pub(crate) above: bool,
    /// Of the damper or the steam that moved: its value at rest and now.
    pub(crate) moved: Option<(f64, f64)>,
}

impl Attribution {
    pub(crate) fn unexplained(zone: usize) -> Self {
        Self { finding: Finding::Unexplained, zone, above: false, moved: None }
    }
}

/// What an oven was set to before a departure began, and what the departure looks like now.
#[derive(Debug, Clone, Default)]
pub(crate) struct Bearings {
    dampers: Vec<Moving>,
    steam: Moving,
    zones: Vec<Picture>,
}

/// A setting at rest and now.
#[derive(Debug, Clone, Copy, Default)]
struct Moving {
    rest: Option<f64>,
    now: Option<f64>,
}

impl Moving {
    fn moved(self) -> Option<(f64, f64)> {
        self.rest.zip(self.now)
    }
}

/// What a zone adds to a departure.
#[derive(Debug, Clone, Copy, Default)]
struct Picture {
    humidity: f64,
    temperature: f64,
    humidity_z: f64,
    temperature_z: f64,
}

impl Bearings {
    /// Takes a window that departs from nothing.
    pub(crate) fn rest(&mut self, window: &Window) {
        self.dampers.resize(window.zones.len(), Moving::default());
        for (damper, zone) in self.dampers.iter_mut().zip(&window.zones) {
            follow(&mut damper.rest, zone.exhaust_damper, OVER_AN_HOUR);
            damper.now = zone.exhaust_damper;
        }
        follow(&mut self.steam.rest, window.steam(), OVER_AN_HOUR);
        self.steam.now = window.steam();
        self.forget_departure();
    }

    /// Takes a window of a departure.
    pub(crate) fn depart(&mut self, window: &Window, departure: &Departure) {
        self.dampers.resize(window.zones.len(), Moving::default());
        for (damper, zone) in self.dampers.iter_mut().zip(&window.zones) {
            follow(&mut damper.now, zone.exhaust_damper, OVER_TEN_MINUTES);
        }
        follow(&mut self.steam.now, window.steam(), OVER_TEN_MINUTES);
        self.zones.resize(departure.zones.len(), Picture::default());
        for (picture, zone) in self.zones.iter_mut().zip(&departure.zones) {
            let blend = |old: &mut f64, new: f64| *old = towards(*old, new, OVER_TEN_MINUTES);
            blend(&mut picture.humidity, zone.ln_humidity);
            blend(&mut picture.temperature, zone.temperature);
            blend(&mut picture.humidity_z, zone.ln_humidity_z.unwrap_or(0.0));
            blend(&mut picture.temperature_z, zone.temperature_z.unwrap_or(0.0));
        }
    }

    pub(crate) fn forget_departure(&mut self) {
        self.zones.clear();
    }

    /// What makes the departure.
    pub(crate) fn attribute(&self) -> Attribution {
        let humidity: f64 = self.zones.iter().map(|zone| zone.humidity).sum();
        let temperature: f64 = self.zones.iter().map(|zone| zone.temperature).sum();
        if temperature > humidity {
            let zone = self.largest(|zone| zone.temperature);
            let above = self.zones.get(zone).is_some_and(|zone| zone.temperature_z > 0.0);
            return Attribution { finding: Finding::Temperature, zone: zone + 1, above, moved: None };
        }
        let zone = self.largest(|zone| zone.humidity);
        let above = self.zones.get(zone).is_some_and(|zone| zone.humidity_z > 0.0);
        let found = |finding, moved| Attribution { finding, zone: zone + 1, above, moved };
        // A damper explains a wet zone by having closed and a dry one by having opened.
        let damper = self.dampers.get(zone).and_then(|damper| damper.moved());
        let damper = damper.filter(|(rest, now)| (now - rest).abs() >= DAMPER_MOVED_PCT);
        if let Some((rest, now)) = damper.filter(|(rest, now)| (now < rest) == above) {
            return found(Finding::Damper, Some((rest, now)));
        }
        let steam = self.steam.moved().filter(|(rest, now)| (now - rest).abs() >= STEAM_CHANGED * rest.abs());
        if let Some((rest, now)) = steam.filter(|(rest, now)| (now > rest) == above) {
            return found(Finding::Steam, Some((rest, now)));
        }
        found(Finding::Unexplained, None)
    }

    fn largest(&self, part: impl Fn(&Picture) -> f64) -> usize {
        let parts = self.zones.iter().map(part).enumerate();
        parts.max_by(|one, other| one.1.total_cmp(&other.1)).map_or(0, |(zone, _)| zone)
    }
}

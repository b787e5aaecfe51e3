//! Lays the readings of one line on windows of event time.
//!
//! A window closes when every signal that is expected has passed it, or when the newest reading is
//! [`lateness`](WindowSettings::lateness) beyond it. Only event times decide, so the windows do not
//! depend on how fast or in what order (within the lateness) the readings came.

use std::collections::HashMap;
use std::sync::Arc;

use physics::air;
use physics::units::{Celsius, HumidityRatio, MetrePerMinute, MoistureFraction, Pascal};

use crate::plant::Plant;
use crate::quantity::Quantity;
use crate::rest::Rest;
use crate::running_state::{Infeed, RunningState, RunningStateTracker};
use crate::series::LineSeries;
use crate::signal::{LineIndex, SignalId};
use crate::slot::{Slot, Summary};
use crate::time::{Span, Timestamp};
use crate::trouble::{DEW_POINT_ABOVE_AIR_K, Trouble, TroubleKind};
use crate::value::Reading;
use crate::window::{Window, ZoneWindow};

/// How readings are laid on windows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WindowSettings {
    /// Length of a window.
    pub width: Span,
    /// How long a window waits for a signal that is behind.
    pub lateness: Span,
}

impl Default for WindowSettings {
    fn default() -> Self {
        Self { width: Span::seconds(30), lateness: Span::seconds(20) }
    }
}

/// Whether a reading found its window still open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Placed {
    /// It counts.
    InTime,
    /// Its window had closed: kept in the store, used by tables and learning, but no alert looks back.
    Late,
}

/// Lays the readings of one line on windows.
#[derive(Debug, Clone)]
pub struct WindowBuilder {
    plant: Arc<Plant>,
    line: LineIndex,
    settings: WindowSettings,
    slots: Vec<Slot>,
    slot_of: HashMap<SignalId, usize>,
    newest: Option<Timestamp>,
    closed_until: Option<Timestamp>,
    /// When the line was first heard of, or heard of again after a silence.
    heard_since: Option<Timestamp>,
    tracker: RunningStateTracker,
}

impl WindowBuilder {
    /// Begins with no reading.
    #[must_use]
    pub fn new(plant: Arc<Plant>, line: LineIndex, settings: WindowSettings) -> Self {
        let slots: Vec<Slot> = plant.signals.of_line(line).map(|(id, signal)| Slot::new(id, signal)).collect();
        let slot_of = slots.iter().enumerate().map(|(index, slot)| (slot.signal, index)).collect();
        let tracker = RunningStateTracker::new(plant.lines[line.0].length());
        Self { plant, line, settings, slots, slot_of, newest: None, closed_until: None, heard_since: None, tracker }
    }

    /// Takes one reading of this line; readings of other lines are ignored.
    pub fn push(&mut self, reading: &Reading) -> Placed {
        let Some(&slot) = self.slot_of.get(&reading.signal) else { return Placed::InTime };
        self.newest = self.newest.max(Some(reading.time));
        let late = self.closed_until.is_some_and(|until| reading.time < until);
        self.slots[slot].push(reading.time, reading.value.clone(), reading.quality, late);
        if late { Placed::Late } else { Placed::InTime }
    }

    /// Takes what is stored of the line and later than all it has taken, and gives the windows that close: the same as if
    /// the readings had been pushed in order of time.
    pub fn lay(&mut self, stored: &LineSeries) -> Vec<Window> {
        let mut rest = Rest::of(stored, &self.slot_of);
        let mut windows = Vec::new();
        while let Some(next) = rest.next_time() {
            // One signal after the other, but only as far as a window: none closes before it has all.
            let ends = next.floor(self.settings.width) + self.settings.width;
            rest.take_until(ends, |slot, time, value, quality| {
                self.newest = self.newest.max(Some(time));
                let late = self.closed_until.is_some_and(|until| time < until);
                self.slots[slot].push(time, value, quality, late);
            });
            windows.extend(std::iter::from_fn(|| self.next_closed()));
        }
        windows
    }

    /// The next window, if it is time to close it.
    pub fn next_closed(&mut self) -> Option<Window> {
        let (starts, ends) = self.next_window()?;
        let overdue = self.newest.is_some_and(|newest| newest >= ends + self.settings.lateness);
        // Where no signal is expected yet, somebody must have gone beyond the window.
        let passed = self.newest.is_some_and(|newest| newest >= ends);
        let complete = || self.slots.iter().all(|slot| !slot.is_expected(ends) || slot.has_passed(ends));
        (overdue || passed && complete()).then(|| self.close(starts, ends))
    }

    /// The next window, complete or not: for a line that has fallen silent and for the end of a file.
    pub fn close_next(&mut self) -> Option<Window> {
        let (starts, ends) = self.next_window()?;
        Some(self.close(starts, ends))
    }

    /// The time of the newest reading.
    #[must_use]
    pub fn newest(&self) -> Option<Timestamp> {
        self.newest
    }

    /// The earliest window that holds a reading. Windows without any are passed over.
    fn next_window(&self) -> Option<(Timestamp, Timestamp)> {
        let first = self.slots.iter().filter_map(Slot::first_pending).min()?;
        let starts = first.floor(self.settings.width);
        Some((starts, starts + self.settings.width))
    }

    fn close(&mut self, starts: Timestamp, ends: Timestamp) -> Window {
        if let Some(until) = self.closed_until {
            self.tracker.miss(starts - until);
        }
        if self.closed_until.is_none_or(|until| starts > until) {
            self.heard_since = Some(starts);
        }
        self.closed_until = Some(ends);
        let values: Vec<Option<Summary>> = self.slots.iter_mut().map(|slot| slot.close(ends)).collect();
        let usable = values.iter().filter(|value| value.is_some()).count();
        let view = View { plant: &self.plant, slots: &self.slots, values: &values };
        let mut zones = (1..=self.plant.lines[self.line.0].zones.len()).map(|zone| view.zone(zone)).collect::<Vec<_>>();
        let band_speed = view.band_speed(self.line);
        let troubles = view.troubles(&zones, ends, self.heard_since.unwrap_or(starts));
        troubles.iter().for_each(|trouble| disbelieve(trouble, &mut zones));
        let infeed = view.infeed(band_speed, &zones);
        let state: RunningState = self.tracker.advance(ends - starts, &infeed);
        Window {
            line: self.line,
            starts,
            ends,
            state,
            band_speed,
            fed: infeed.is_fed(),
            steam_flow: view.mean(Quantity::SteamFlow, None),
            steam_valve: view.mean(Quantity::SteamValve, None),
            ambient_humidity: view.ambient_humidity(),
            product: infeed.product,
            zones,
            coverage: usable as f64 / values.len().max(1) as f64,
            troubles,
        }
    }
}

/// Takes out what a signal in trouble says of its zone.
fn disbelieve(trouble: &Trouble, zones: &mut [ZoneWindow]) {
    let Some(zone) = trouble.zone.and_then(|zone| zones.get_mut(zone - 1)) else { return };
    match trouble.quantity {
        quantity if quantity.is_humidity() => zone.humidity = None,
        Quantity::AirTemperature => zone.air_temperature = None,
        Quantity::ExhaustDamper => zone.exhaust_damper = None,
        _ => {}
    }
}

/// The values of one window, found by what they measure.
struct View<'a> {
    plant: &'a Plant,
    slots: &'a [Slot],
    values: &'a [Option<Summary>],
}

impl View<'_> {
    fn find(&self, quantity: Quantity, zone: Option<usize>) -> Option<&Summary> {
        let index = self.slots.iter().position(|slot| slot.quantity == quantity && slot.zone == zone)?;
        self.values[index].as_ref()
    }

    fn mean(&self, quantity: Quantity, zone: Option<usize>) -> Option<f64> {
        match self.find(quantity, zone)? {
            Summary::Number { mean, .. } => Some(*mean),
            Summary::Text(_) => None,
        }
    }

    fn low(&self, quantity: Quantity) -> Option<f64> {
        match self.find(quantity, None)? {
            Summary::Number { low, .. } => Some(*low),
            Summary::Text(_) => None,
        }
    }

    fn text(&self, quantity: Quantity) -> Option<Arc<str>> {
        match self.find(quantity, None)? {
            Summary::Number { .. } => None,
            Summary::Text(text) => Some(text.clone()),
        }
    }

    fn band_speed(&self, line: LineIndex) -> Option<MetrePerMinute> {
        let by_time = || {
            let minutes = self.mean(Quantity::BakeTime, None).filter(|minutes| *minutes > 0.0)?;
            Some(self.plant.lines[line.0].speed_for_bake_time(minutes))
        };
        self.mean(Quantity::BandSpeed, None).map(MetrePerMinute).or_else(by_time)
    }

    fn zone(&self, zone: usize) -> ZoneWindow {
        ZoneWindow {
            humidity: self.humidity(Some(zone), self.plant.pressure),
            air_temperature: self.mean(Quantity::AirTemperature, Some(zone)).map(Celsius),
            exhaust_damper: self.mean(Quantity::ExhaustDamper, Some(zone)),
        }
    }

    /// Humidity from whichever sensor the zone has. A value that no air can have is no value.
    fn humidity(&self, zone: Option<usize>, pressure: Pascal) -> Option<HumidityRatio> {
        if let Some(dew_point) = self.mean(Quantity::DewPoint, zone) {
            let moisture = air::moisture_from_dew_point(Celsius(dew_point), pressure).ok()?;
            return air::humidity_ratio_from_moisture(moisture).ok();
        }
        if let Some(percent) = self.mean(Quantity::Moisture, zone) {
            return air::humidity_ratio_from_moisture(MoistureFraction(percent / 100.0)).ok();
        }
        self.mean(Quantity::HumidityRatio, zone).filter(|ratio| *ratio >= 0.0).map(HumidityRatio)
    }

    /// Humidity of the air outside the oven. A sensor's zero drift may show a little less than none or more than all.
    fn ambient_humidity(&self) -> Option<HumidityRatio> {
        let temperature = Celsius(self.mean(Quantity::AmbientTemperature, None)?);
        let relative = (self.mean(Quantity::AmbientHumidity, None)? / 100.0).clamp(0.0, 1.0);
        air::humidity_ratio_from_relative_humidity(temperature, relative, self.plant.pressure).ok()
    }

    /// Every signal that is not to be believed, in the order of the config.
    fn troubles(&self, zones: &[ZoneWindow], ends: Timestamp, heard_since: Timestamp) -> Vec<Trouble> {
        let slots = self.slots.iter().zip(self.values);
        slots
            .filter_map(|(slot, value)| {
                let alone = slot.trouble(ends, heard_since);
                alone.or_else(|| {
                    let zone = slot.zone.and_then(|zone| zones.get(zone - 1))?;
                    let impossible = slot.quantity.is_humidity() && value.is_some() && self.is_impossible(zone);
                    impossible.then(|| slot.found(TroubleKind::Impossible, ends))
                })
            })
            .collect()
    }

    /// Whether the humidity that a zone's sensor shows is one that no air has, or that the air there is
    /// too cold for.
    fn is_impossible(&self, zone: &ZoneWindow) -> bool {
        let Some(ratio) = zone.humidity else { return true };
        let dew_point = air::dew_point_from_humidity_ratio(ratio, self.plant.pressure);
        match (dew_point, zone.air_temperature) {
            (Ok(dew_point), Some(air)) => dew_point.0 > air.0 + DEW_POINT_ABOVE_AIR_K,
            _ => false,
        }
    }

    fn infeed(&self, speed: Option<MetrePerMinute>, zones: &[ZoneWindow]) -> Infeed {
        let only_product = || match self.plant.products.as_slice() {
            [product] => Some(product.code.clone()),
            _ => None,
        };
        Infeed {
            speed,
            product: self.text(Quantity::Product).or_else(only_product),
            feed: self.low(Quantity::Feed),
            divider_rate: self.low(Quantity::DividerRate),
            steam: self.mean(Quantity::SteamFlow, None).or_else(|| self.mean(Quantity::SteamValve, None)),
            first_humidity: zones.first().and_then(|zone| zone.humidity).map(|ratio| ratio.0),
        }
    }
}

#[cfg(test)]
mod tests;

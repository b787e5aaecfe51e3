//! The whole bakery running: readings in the order in which the plant sends them.

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::sync::Arc;
use std::time::Duration;

use anyhow::{Result, ensure};
use chrono::{DateTime, TimeDelta, Utc};
use physics::units::Metre;
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::bakery::Bakery;
use crate::dough::Baked;
use crate::instruments::{Instrument, Probes, Said};
use crate::running_line::RunningLine;
use crate::schedule::Schedule;
use crate::tag::Tag;
use crate::weather::Weather;
use crate::zone_air::WaterBalance;

/// A reading as it leaves the plant.
#[derive(Debug, Clone, PartialEq)]
pub struct PlantReading {
    /// When it was taken.
    pub time: DateTime<Utc>,
    /// When it is sent: later than `time` only for late and repeated readings.
    pub sent: DateTime<Utc>,
    /// Its MQTT topic.
    pub topic: Arc<str>,
    /// What was read.
    pub value: PlantValue,
}

/// What was read.
#[derive(Debug, Clone, PartialEq)]
pub enum PlantValue {
    /// A number, and how many decimals the transmitter prints.
    Number {
        /// The number, in the unit of its topic.
        value: f64,
        /// Decimals printed.
        decimals: u8,
    },
    /// A text, such as a product code.
    Text(Arc<str>),
}

/// A running bakery: an endless iterator of readings, ordered by when they are sent.
pub struct Simulation {
    lines: Vec<Watched>,
    signals: Vec<Signal>,
    interval: TimeDelta,
    /// Beginning of the current round in which every signal is read once.
    round: DateTime<Utc>,
    next_signal: usize,
    held_back: BinaryHeap<Reverse<HeldBack>>,
    held_back_count: u64,
}

struct Watched {
    line: RunningLine,
    probes: Probes,
    said_product: Option<(Arc<str>, DateTime<Utc>)>,
}

struct Signal {
    line: usize,
    tag: Tag,
    topic: Arc<str>,
    after: TimeDelta,
    instrument: Instrument,
}

/// A late or repeated reading that waits to be sent.
struct HeldBack {
    order: (DateTime<Utc>, u64),
    reading: PlantReading,
}

/// How long after the first a repeated reading is sent.
const REPEATED_AFTER: TimeDelta = TimeDelta::seconds(3);
/// How often an unchanged product is said again.
const PRODUCT_EVERY: TimeDelta = TimeDelta::seconds(60);

impl Simulation {
    /// Starts the bakery. The same arguments give the same readings, whatever the machine.
    ///
    /// Every signal is read once in `interval` (1 s to 60 s), each at its own moment within it.
    /// Errors name a line, product or zone in the schedule that the bakery does not have.
    pub fn new(
        bakery: Bakery,
        schedule: &Schedule,
        seed: u64,
        start: DateTime<Utc>,
        interval: Duration,
    ) -> Result<Self> {
        ensure!(
            (Duration::from_secs(1)..=Duration::from_secs(60)).contains(&interval),
            "an interval of {interval:?} is not between 1 s and 60 s"
        );
        for happening in schedule.happenings() {
            let known = bakery.lines.iter().any(|line| line.id == happening.line);
            ensure!(known, "the bakery has no line {}", happening.line);
        }
        let mut seeds = Xoshiro256PlusPlus::seed_from_u64(seed);
        let weather = Weather::new(&mut seeds);
        let pressure = physics::air::station_pressure(Metre(bakery.elevation_m))?;
        let mut lines = vec![];
        let mut signals = vec![];
        for (index, line) in bakery.lines.iter().enumerate() {
            let running = RunningLine::new(&bakery, line, schedule, weather.clone(), seeds.r#gen(), start)?;
            lines.push(Watched {
                probes: Probes::new(&running, line.humidity, pressure, &mut seeds),
                line: running,
                said_product: None,
            });
            signals.extend(line.tags().into_iter().map(|tag| Signal {
                line: index,
                tag,
                topic: tag.topic(line),
                after: TimeDelta::zero(),
                instrument: Instrument::new(tag, line.humidity, interval.as_secs_f64(), seeds.r#gen()),
            }));
        }
        let interval = TimeDelta::from_std(interval)?;
        let count = signals.len() as i64;
        for (nth, signal) in signals.iter_mut().enumerate() {
            signal.after = TimeDelta::milliseconds(interval.num_milliseconds() * nth as i64 / count);
        }
        Ok(Self {
            lines,
            signals,
            interval,
            round: start,
            next_signal: 0,
            held_back: BinaryHeap::new(),
            held_back_count: 0,
        })
    }

    /// Takes the readings that are sent before this time; the simulation goes on from there.
    pub fn until(&mut self, end: DateTime<Utc>) -> impl Iterator<Item = PlantReading> + '_ {
        std::iter::from_fn(move || {
            loop {
                if self.next_sent() >= end {
                    return None;
                }
                if let Some(reading) = self.advance() {
                    return Some(reading);
                }
            }
        })
    }

    /// Where the water in a line's air has come from and gone to since the start.
    pub fn water(&self, line: usize) -> Option<WaterBalance> {
        Some(self.lines.get(line)?.line.water())
    }

    /// The dough that a line has baked since the start.
    pub fn baked(&self, line: usize) -> Option<Baked> {
        Some(self.lines.get(line)?.line.baked())
    }

    /// Length of a line's oven, m.
    pub fn length_m(&self, line: usize) -> Option<f64> {
        Some(self.lines.get(line)?.line.oven.length_m)
    }

    /// Speed of a line's band as it is, whatever its signal says, m/s.
    pub fn band_m_s(&self, line: usize) -> Option<f64> {
        Some(self.lines.get(line)?.line.controls.band_speed())
    }

    /// Air temperature (°C) and moisture (share by volume) at a place in a line's oven, m from the mouth.
    pub fn air_at(&self, line: usize, metre: f64) -> Option<(f64, f64)> {
        let line = &self.lines.get(line)?.line;
        let zone = line.oven.borders_m.partition_point(|border| *border <= metre).checked_sub(1)?;
        let zone = zone.min(line.oven.zones() - 1);
        Some((line.air.temperature_c(zone), line.air.moisture(&line.oven, zone)))
    }

    fn next_read(&self) -> DateTime<Utc> {
        self.round + self.signals[self.next_signal].after
    }

    fn next_sent(&self) -> DateTime<Utc> {
        match self.held_back.peek() {
            Some(Reverse(held)) => held.order.0.min(self.next_read()),
            None => self.next_read(),
        }
    }

    /// Sends what is due next; nothing if that signal had nothing to say.
    fn advance(&mut self) -> Option<PlantReading> {
        let time = self.next_read();
        if self.held_back.peek().is_some_and(|Reverse(held)| held.order.0 <= time) {
            return self.held_back.pop().map(|Reverse(held)| held.reading);
        }
        let signal_count = self.signals.len();
        let signal = &mut self.signals[self.next_signal];
        self.next_signal = (self.next_signal + 1) % signal_count;
        if self.next_signal == 0 {
            self.round += self.interval;
        }
        let watched = &mut self.lines[signal.line];
        watched.line.advance_to(time, |line| watched.probes.step(line));
        let now_s = time.timestamp_millis() as f64 / 1000.0;
        let said = signal.instrument.say(&watched.probes, &watched.line, now_s)?;
        let value = match signal.tag {
            Tag::Product => PlantValue::Text(watched.say_product(time)?),
            _ => PlantValue::Number { value: said.value, decimals: said.decimals },
        };
        let reading = PlantReading { time, sent: time, topic: signal.topic.clone(), value };
        self.send(reading, &said)
    }

    fn send(&mut self, reading: PlantReading, said: &Said) -> Option<PlantReading> {
        if said.twice {
            self.hold_back(reading.clone(), said.late_by + REPEATED_AFTER);
        }
        if said.late_by > TimeDelta::zero() {
            self.hold_back(reading, said.late_by);
            return None;
        }
        Some(reading)
    }

    fn hold_back(&mut self, mut reading: PlantReading, by: TimeDelta) {
        reading.sent = reading.time + by;
        self.held_back_count += 1;
        let order = (reading.sent, self.held_back_count);
        self.held_back.push(Reverse(HeldBack { order, reading }));
    }
}

impl Iterator for Simulation {
    type Item = PlantReading;

    fn next(&mut self) -> Option<PlantReading> {
        loop {
            if let Some(reading) = self.advance() {
                return Some(reading);
            }
        }
    }
}

impl Watched {
    /// The product code, when it has changed or has not been said for a minute.
    fn say_product(&mut self, time: DateTime<Utc>) -> Option<Arc<str>> {
        let code = self.line.product_code();
        if let Some((said, at)) = &self.said_product
            && **said == *code
            && time < *at + PRODUCT_EVERY
        {
            return None;
        }
        let code: Arc<str> = code.into();
        self.said_product = Some((code.clone(), time));
        Some(code)
    }
}

impl PartialEq for HeldBack {
    fn eq(&self, other: &Self) -> bool {
        self.order == other.order
    }
}

impl Eq for HeldBack {}

impl PartialOrd for HeldBack {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for HeldBack {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.order.cmp(&other.order)
    }
}

//! From stored readings to measurements: in one unit, of one product, and only those that can be true.

use std::collections::HashMap;

use physics::air;
use physics::units::{Celsius, HumidityRatio, Metre, MoistureFraction, Pascal};
use reading::{LineIndex, NumberSeries, Plant, Quality, Quantity, Signal, SignalId, Timestamp};

use crate::remembered::Remembered;
use crate::running::{Running, window_of};

/// What the table summarises. A humidity reading of any kind gives the first three.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Measure {
    /// % vol.
    Moisture,
    /// °C.
    DewPoint,
    /// kg/kg.
    HumidityRatio,
    /// °C.
    AirTemperature,
    /// %.
    ExhaustDamper,
    /// m/min.
    BandSpeed,
    /// min.
    BakeTime,
}

impl Measure {
    const ALL: [Self; 7] = [
        Self::Moisture,
        Self::DewPoint,
        Self::HumidityRatio,
        Self::AirTemperature,
        Self::ExhaustDamper,
        Self::BandSpeed,
        Self::BakeTime,
    ];

    /// Whether the table shows how it is spread, which takes a sort; else its mean and maximum will do.
    pub(crate) fn is_spread_shown(self) -> bool {
        matches!(self, Self::Moisture | Self::AirTemperature)
    }
}

/// Of which product (its place in [`Running::products`]), in which zone (from 1; 0 for the whole line), what.
pub(crate) type Key = (usize, usize, Measure);

/// All measurements of one [`Key`].
#[derive(Debug, Default)]
pub(crate) struct Measured {
    /// In the unit of the measure.
    pub(crate) values: Vec<f64>,
    /// The windows of event time in which they lie, each at least once.
    pub(crate) windows: Vec<i64>,
}

impl Measured {
    fn push(&mut self, value: f64, window: i64) {
        self.values.push(value);
        if self.windows.last() != Some(&window) {
            self.windows.push(window);
        }
    }
}

/// What the readings of one line measure that lie in a stretch of baking and can be true.
pub(crate) fn measurements(
    plant: &Plant,
    line: LineIndex,
    running: &Running,
    readings: &[NumberSeries],
) -> HashMap<Key, Measured> {
    let signals = signals_of_line(plant, line);
    let has_speed = plant.signals.of_line(line).any(|(_, signal)| signal.quantity == Quantity::BandSpeed);
    let mut oven = Oven {
        length: plant.lines[line.0].length(),
        pressure: plant.pressure,
        has_speed,
        known: Remembered::default(),
    };
    let mut all: HashMap<Key, Measured> = HashMap::new();
    for series in readings {
        let Some(Some(signal)) = signals.get(series.signal.0 as usize) else { continue };
        oven.known.forget();
        for &(product, starts, ends) in running.stretches() {
            let mut found: [Measured; Measure::ALL.len()] = Default::default();
            for (time, raw) in usable(series, starts, ends) {
                let Some(value) = believable(signal, raw) else { continue };
                let window = window_of(time);
                oven.measure(signal.quantity, value, |measure, value| found[measure as usize].push(value, window));
            }
            for (measure, found) in Measure::ALL.into_iter().zip(found).filter(|(_, found)| !found.values.is_empty()) {
                let measured = all.entry((product, signal.zone.unwrap_or(0), measure)).or_default();
                measured.values.extend(found.values);
                measured.windows.extend(found.windows);
            }
        }
    }
    all
}

/// The readings in `[starts, ends)` that the plant does not call bad.
fn usable(series: &NumberSeries, starts: Timestamp, ends: Timestamp) -> impl Iterator<Item = (Timestamp, f64)> {
    let place = |time: Timestamp| series.time_us.partition_point(|other| *other < time.0);
    let within = place(starts)..place(ends);
    let columns = series.time_us[within.clone()].iter().zip(&series.value[within.clone()]).zip(&series.quality[within]);
    columns
        .filter(|(_, quality)| Quality::from_code(**quality) != Quality::Bad)
        .map(|((time, value), _)| (Timestamp(*time), *value))
}

/// The signals of one line by their id, with nothing in the places of others.
fn signals_of_line(plant: &Plant, line: LineIndex) -> Vec<Option<&Signal>> {
    let mut signals = vec![None; plant.signals.len()];
    for (SignalId(id), signal) in plant.signals.of_line(line) {
        signals[id as usize] = Some(signal);
    }
    signals
}

/// The value in the unit used for calculation, if the signal may have it. Intake refuses values out of range
/// already; here they are refused again for those that were stored under an earlier config.
fn believable(signal: &Signal, raw: f64) -> Option<f64> {
    let value = raw * signal.scale + signal.offset;
    let (low, high) = (signal.min.unwrap_or(f64::MIN), signal.max.unwrap_or(f64::MAX));
    (low..=high).contains(&value).then(|| signal.unit.to_base(value))
}

/// What a reading means depends on the oven.
struct Oven {
    length: Metre,
    pressure: Pascal,
    /// Whether the band speed is measured, so that it need not be found from the bake time.
    has_speed: bool,
    /// The humidities that the present signal has shown.
    known: Remembered<Option<Humidity>>,
}

/// What oven air of one humidity is like.
#[derive(Debug, Clone, Copy)]
struct Humidity {
    moisture: MoistureFraction,
    ratio: HumidityRatio,
    /// Air without any water has none.
    dew_point: Option<Celsius>,
}

impl Oven {
    /// Tells `found` what a reading measures: nothing if it is impossible or has no place in the table.
    fn measure(&mut self, quantity: Quantity, value: f64, mut found: impl FnMut(Measure, f64)) {
        match quantity {
            Quantity::DewPoint | Quantity::Moisture | Quantity::HumidityRatio => {
                let pressure = self.pressure;
                let Some(humidity) = self.known.of(value, || humidity(quantity, value, pressure)) else { return };
                found(Measure::Moisture, humidity.moisture.0 * 100.0);
                found(Measure::HumidityRatio, humidity.ratio.0);
                if let Some(dew_point) = humidity.dew_point {
                    found(Measure::DewPoint, dew_point.0);
                }
            }
            Quantity::AirTemperature if Celsius(value).kelvin() > 0.0 => found(Measure::AirTemperature, value),
            Quantity::ExhaustDamper => found(Measure::ExhaustDamper, value),
            Quantity::BandSpeed if value >= 0.0 => {
                found(Measure::BandSpeed, value);
                // A band that stands still has a speed and no bake time.
                if value > 0.0 {
                    found(Measure::BakeTime, self.length.0 / value);
                }
            }
            Quantity::BakeTime if value > 0.0 && !self.has_speed => {
                found(Measure::BandSpeed, self.length.0 / value);
                found(Measure::BakeTime, value);
            }
            _ => {}
        }
    }
}

/// The humidity that a sensor of one of the three kinds shows; `None` if no air has it.
fn humidity(quantity: Quantity, value: f64, pressure: Pascal) -> Option<Humidity> {
    let (moisture, dew_point) = match quantity {
        Quantity::DewPoint => (air::moisture_from_dew_point(Celsius(value), pressure).ok()?, Some(Celsius(value))),
        Quantity::Moisture => (MoistureFraction(value / 100.0), None),
        _ => (air::moisture_from_humidity_ratio(HumidityRatio(value)).ok()?, None),
    };
    let ratio = air::humidity_ratio_from_moisture(moisture).ok()?;
    let dew_point = dew_point.or_else(|| air::dew_point_from_moisture(moisture, pressure).ok());
    Some(Humidity { moisture, ratio, dew_point })
}

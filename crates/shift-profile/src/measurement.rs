//! From stored readings to measurements: in one unit, of one product, and only those that can be true.

use physics::air;
use physics::units::{Celsius, HumidityRatio, Metre, MoistureFraction, Pascal};
use reading::{LineIndex, NumberColumns, Plant, Quality, Quantity, Signal, SignalId, Timestamp};

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

    /// The number under which it stands in a column.
    pub(crate) fn code(self) -> u32 {
        self as u32
    }

    /// The measure with this number.
    pub(crate) fn from_code(code: u32) -> Option<Self> {
        Self::ALL.get(code as usize).copied()
    }
}

/// Measurements as columns of equal length.
#[derive(Debug, Default)]
pub(crate) struct Measurements {
    /// The product's place in [`Running::products`].
    pub(crate) product: Vec<u32>,
    /// The zone, counted from 1; 0 for the whole line.
    pub(crate) zone: Vec<u32>,
    /// [`Measure::code`].
    pub(crate) measure: Vec<u32>,
    /// The window of event time.
    pub(crate) window: Vec<i64>,
    /// In the unit of the measure.
    pub(crate) value: Vec<f64>,
}

impl Measurements {
    /// The readings of one line that lie in a stretch of baking and can be true.
    pub(crate) fn of(plant: &Plant, line: LineIndex, running: &Running, readings: &NumberColumns) -> Self {
        let signals = signals_of_line(plant, line);
        let has_speed = plant.signals.of_line(line).any(|(_, signal)| signal.quantity == Quantity::BandSpeed);
        let oven = Oven { length: plant.lines[line.0].length(), pressure: plant.pressure, has_speed };
        let mut measurements = Self::default();
        for (index, &id) in readings.signal.iter().enumerate() {
            let Some(Some(signal)) = signals.get(id as usize) else { continue };
            if Quality::from_code(readings.quality[index]) == Quality::Bad {
                continue;
            }
            let time = Timestamp(readings.time_us[index]);
            let Some(product) = running.product_at(time) else { continue };
            let Some(value) = believable(signal, readings.value[index]) else { continue };
            oven.measure(signal.quantity, value, |measure, value| {
                measurements.product.push(product as u32);
                measurements.zone.push(signal.zone.unwrap_or(0) as u32);
                measurements.measure.push(measure.code());
                measurements.window.push(window_of(time));
                measurements.value.push(value);
            });
        }
        measurements
    }
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
}

impl Oven {
    /// Tells `found` what a reading measures: nothing if it is impossible or has no place in the table.
    fn measure(&self, quantity: Quantity, value: f64, mut found: impl FnMut(Measure, f64)) {
        match quantity {
            Quantity::DewPoint => self.humidity(self.moisture_from_dew_point(value), Some(Celsius(value)), found),
            Quantity::Moisture => self.humidity(Some(MoistureFraction(value / 100.0)), None, found),
            Quantity::HumidityRatio => {
                self.humidity(air::moisture_from_humidity_ratio(HumidityRatio(value)).ok(), None, found);
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

    fn moisture_from_dew_point(&self, celsius: f64) -> Option<MoistureFraction> {
        air::moisture_from_dew_point(Celsius(celsius), self.pressure).ok()
    }

    fn humidity(
        &self,
        moisture: Option<MoistureFraction>,
        dew_point: Option<Celsius>,
        mut found: impl FnMut(Measure, f64),
    ) {
        let Some(moisture) = moisture else { return };
        let Ok(ratio) = air::humidity_ratio_from_moisture(moisture) else { return };
        found(Measure::Moisture, moisture.0 * 100.0);
        found(Measure::HumidityRatio, ratio.0);
        // Air without any water has no dew point.
        if let Some(dew_point) = dew_point.or_else(|| air::dew_point_from_moisture(moisture, self.pressure).ok()) {
            found(Measure::DewPoint, dew_point.0);
        }
    }
}

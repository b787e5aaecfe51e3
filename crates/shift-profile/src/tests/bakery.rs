//! An invented bakery with a sensor of every kind.

#![allow(clippy::unwrap_used)]

use chrono::{NaiveDate, NaiveTime};
use physics::units::{Metre, Pascal};
use reading::shift::ShiftRule;
use reading::{
    Firing, Line, LineIndex, LineSeries, NumberSeries, Plant, Quality, Quantity, Reading, ShiftCalendar, ShiftInstance,
    Signal, SignalMap, Span, Timestamp, Value, Zone,
};

use crate::stretch::Stretch;

pub(super) const PRESSURE: Pascal = Pascal(100_190.0);
/// Five zones of 6 m: dew point in °F, % vol, g/kg, no humidity, and no more than a damper.
pub(super) const TUNNEL_1: LineIndex = LineIndex(0);
/// One zone of 24 m; the band speed is known by the bake time only.
pub(super) const TUNNEL_2: LineIndex = LineIndex(1);

pub(super) fn bakery() -> Plant {
    let line = |id: &str, lengths: &[f64]| Line {
        id: id.into(),
        name: id.to_owned(),
        firing: Firing::Direct,
        fuel: None,
        steam_section: None,
        zones: lengths.iter().map(|length| Zone { length: Metre(*length) }).collect(),
    };
    let rule = |name: &str, hour| ShiftRule {
        name: name.into(),
        starts: NaiveTime::from_hms_opt(hour, 0, 0).unwrap(),
        days: Vec::new(),
    };
    Plant {
        site: "millbrook".into(),
        name: "Millbrook Bakery".to_owned(),
        pressure: PRESSURE,
        shifts: ShiftCalendar::new(
            chrono_tz::Europe::London,
            vec![rule("early", 6), rule("late", 14), rule("night", 22)],
        ),
        lines: vec![line("tunnel-1", &[6.0; 5]), line("tunnel-2", &[24.0])],
        products: Vec::new(),
        signals: SignalMap::new(signals()),
    }
}

fn signals() -> Vec<Signal> {
    let signal = |line: LineIndex, zone: Option<usize>, quantity: Quantity, unit: &str| {
        let topic = format!("{}/{}/{}", line.0, zone.unwrap_or(0), quantity.name());
        Signal { unit: quantity.unit(unit).unwrap(), ..Signal::of_topic(&topic, line, zone, quantity) }
    };
    let mut signals = vec![
        signal(TUNNEL_1, Some(1), Quantity::DewPoint, "degF"),
        signal(TUNNEL_1, Some(2), Quantity::Moisture, "% vol"),
        signal(TUNNEL_1, Some(3), Quantity::HumidityRatio, "g/kg"),
        signal(TUNNEL_1, Some(1), Quantity::AirTemperature, "degC"),
        signal(TUNNEL_1, Some(4), Quantity::AirTemperature, "degF"),
        signal(TUNNEL_1, Some(1), Quantity::ExhaustDamper, "%"),
        signal(TUNNEL_1, Some(5), Quantity::ExhaustDamper, "%"),
        signal(TUNNEL_1, None, Quantity::BandSpeed, "ft/min"),
        signal(TUNNEL_1, None, Quantity::BakeTime, "min"),
        signal(TUNNEL_1, None, Quantity::SteamFlow, "kg/h"),
        signal(TUNNEL_2, None, Quantity::BakeTime, "s"),
        signal(TUNNEL_2, Some(1), Quantity::DewPoint, "degC"),
    ];
    // A transmitter that sends tenths of a degree, which can show 20 to 280 °C.
    let temperature = &mut signals[3];
    (temperature.scale, temperature.min, temperature.max) = (0.1, Some(20.0), Some(280.0));
    signals
}

pub(super) fn at(text: &str) -> Timestamp {
    Timestamp::parse(text).unwrap()
}

/// The shift in which a moment lies.
pub(super) fn shift(text: &str) -> ShiftInstance {
    bakery().shifts.at(at(text)).unwrap()
}

pub(super) fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub(super) fn stretch(product: &str, starts: &str, ends: &str) -> Stretch {
    Stretch { product: product.into(), starts: at(starts), ends: at(ends) }
}

/// Readings of good quality, by tag, sent together at each of these moments.
pub(super) fn readings(times: impl Iterator<Item = Timestamp>, values: &[(&str, f64)]) -> Vec<NumberSeries> {
    let plant = bakery();
    let together = |time| values.iter().map(move |(tag, value)| (time, *tag, *value));
    let reading = |(time, tag, value): (Timestamp, &str, f64)| Reading {
        signal: plant.signals.of_tag(tag).unwrap(),
        time,
        value: Value::Number(value),
        quality: Quality::Good,
    };
    times.flat_map(together).map(reading).collect::<LineSeries>().numbers
}

/// Every half minute from one moment to before another.
pub(super) fn half_minutes(from: &str, to: &str) -> impl Iterator<Item = Timestamp> {
    let (from, to) = (at(from), at(to));
    (0..).map(move |index| from + Span::seconds(30 * index)).take_while(move |time| *time < to)
}

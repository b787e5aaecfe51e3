//! The simulated bakery as the service would be configured for it.

use bakehouse::{Bakery, HumidityProbe, PlantReading, PlantValue, Tag};
use chrono::Weekday;
use physics::air;
use physics::units::{Metre, Pascal};
use reading::shift::{ShiftCalendar, ShiftRule};
use reading::{
    Firing, Line, LineIndex, Plant, Product, Quality, Quantity, Reading, Shape, Signal, SignalMap, Value, Zone,
};

/// Hard limit for zone 3, % vol: that of the commented example.
const ZONE_3_LIMIT_PCT: f64 = 14.0;

/// The plant of a bakery, with every signal that it sends.
#[must_use]
pub fn plant(bakery: &Bakery) -> Plant {
    let shift = |(index, starts): (usize, &chrono::NaiveTime)| ShiftRule {
        name: format!("shift {}", index + 1).into(),
        starts: *starts,
        days: Vec::<Weekday>::new(),
    };
    let pressure = air::station_pressure(Metre(bakery.elevation_m)).unwrap_or(Pascal(101_325.0));
    let signals = bakery
        .lines
        .iter()
        .enumerate()
        .flat_map(|(index, line)| line.tags().into_iter().map(move |tag| signal(tag, line, LineIndex(index))));
    Plant {
        site: "millbrook".into(),
        name: "Millbrook Bakery".into(),
        pressure,
        shifts: ShiftCalendar::new(bakery.time_zone, bakery.shifts.iter().enumerate().map(shift).collect()),
        lines: bakery.lines.iter().map(line).collect(),
        products: bakery.products.iter().map(product).collect(),
        signals: SignalMap::new(signals.collect()),
    }
}

/// What the plant said, as the service reads it.
#[must_use]
pub fn reading(signals: &SignalMap, said: &PlantReading) -> Option<Reading> {
    let value = match &said.value {
        PlantValue::Number { value, .. } => Value::Number(*value),
        PlantValue::Text(text) => Value::Text(text.clone()),
    };
    Some(Reading { signal: signals.of_tag(&said.topic)?, time: said.time.into(), value, quality: Quality::Good })
}

fn line(line: &bakehouse::Line) -> Line {
    Line {
        id: line.id.clone(),
        name: line.id.to_string(),
        firing: match line.firing {
            bakehouse::Firing::Direct => Firing::Direct,
            bakehouse::Firing::Indirect => Firing::Indirect,
            bakehouse::Firing::Electric => Firing::Electric,
        },
        fuel: None,
        steam_section: None,
        zones: line.zones.iter().map(|zone| Zone { length: Metre(zone.length_m) }).collect(),
    }
}

fn product(product: &bakehouse::Product) -> Product {
    Product {
        code: product.code.as_str().into(),
        name: product.name.clone(),
        dough_kg_per_m: Some(product.dough_kg_per_m),
        bake_loss_pct: Some(product.bake_loss * 100.0),
        dough_moisture_pct: None,
        bake_time_min: Some(product.bake_time_min),
        max_zone3_moisture_pct: Some(ZONE_3_LIMIT_PCT),
        shape: Shape::Steamed,
    }
}

fn signal(tag: Tag, line: &bakehouse::Line, index: LineIndex) -> Signal {
    let humidity = match line.humidity {
        HumidityProbe::DewPoint => Quantity::DewPoint,
        HumidityProbe::Moisture => Quantity::Moisture,
    };
    let (quantity, zone) = match tag {
        Tag::Band => (Quantity::BandSpeed, None),
        Tag::Product => (Quantity::Product, None),
        Tag::Feed => (Quantity::Feed, None),
        Tag::Steam => (Quantity::SteamFlow, None),
        Tag::Gas => (Quantity::GasFlow, None),
        Tag::HallTemperature => (Quantity::AmbientTemperature, None),
        Tag::HallHumidity => (Quantity::AmbientHumidity, None),
        Tag::Temperature(zone) => (Quantity::AirTemperature, Some(zone)),
        Tag::Humidity(zone) => (humidity, Some(zone)),
        Tag::Damper(zone) => (Quantity::ExhaustDamper, Some(zone)),
    };
    Signal::of_topic(&tag.topic(line), index, zone, quantity)
}

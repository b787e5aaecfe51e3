//! How long the table of a shift takes.
//!
//! The optimised figure wants `--profile bench`; the demo leaves polars as it is, so it is worth
//! measuring under `--profile demo` too.

#![allow(missing_docs, clippy::unwrap_used)]

use chrono::NaiveTime;
use physics::units::{Metre, Pascal};
use reading::shift::ShiftRule;
use reading::{
    Firing, Line, LineIndex, NumberSeries, Plant, Quality, Quantity, ShiftCalendar, ShiftInstance, Signal, SignalId,
    SignalMap, Span, Timestamp, Zone,
};
use shift_profile::{Stretch, shift_profile};

fn main() {
    divan::main();
}

/// Zones and seconds between readings: 23 tags every 10 s, as in the demo; 40 tags every second.
#[divan::bench(args = [(7, 10), (13, 1)], sample_count = 10)]
fn eight_hours(bencher: divan::Bencher, (zones, every): (usize, i64)) {
    let plant = plant(zones);
    let shift = plant.shifts.at(Timestamp::parse("2026-11-03T09:00:00Z").unwrap()).unwrap();
    let readings = readings(&plant, &shift, every);
    let half = shift.starts + Span::minutes(240);
    let stretches = [
        Stretch { product: "T800".into(), starts: shift.starts, ends: half },
        Stretch { product: "R060".into(), starts: half, ends: shift.ends },
    ];
    bencher
        .counter(divan::counter::ItemsCount::new(readings.iter().map(NumberSeries::len).sum::<usize>()))
        .bench(|| shift_profile(&plant, LineIndex(0), &shift, &readings, &stretches).unwrap());
}

/// An invented line with the dew point, air temperature and damper of each zone, and the band speed.
fn plant(zones: usize) -> Plant {
    let signal = |zone: Option<usize>, quantity: Quantity| {
        Signal::of_topic(&format!("{zone:?}{}", quantity.name()), LineIndex(0), zone, quantity)
    };
    let of_zone = [Quantity::DewPoint, Quantity::AirTemperature, Quantity::ExhaustDamper];
    let mut signals: Vec<Signal> =
        (1..=zones).flat_map(|zone| of_zone.map(|quantity| signal(Some(zone), quantity))).collect();
    signals.push(signal(None, Quantity::BandSpeed));
    signals.push(signal(None, Quantity::SteamFlow));
    Plant {
        site: "millbrook".into(),
        name: "Millbrook Bakery".to_owned(),
        pressure: Pascal(100_190.0),
        shifts: ShiftCalendar::new(
            chrono_tz::Europe::London,
            [6, 14, 22]
                .map(|hour| ShiftRule {
                    name: hour.to_string().into(),
                    starts: NaiveTime::from_hms_opt(hour, 0, 0).unwrap(),
                    days: Vec::new(),
                })
                .to_vec(),
        ),
        lines: vec![Line {
            id: "tunnel-1".into(),
            name: "Tunnel oven 1".to_owned(),
            firing: Firing::Direct,
            fuel: None,
            steam_section: None,
            zones: vec![Zone { length: Metre(6.0) }; zones],
        }],
        products: Vec::new(),
        signals: SignalMap::new(signals),
    }
}

/// Values that swing a little, so that no two are alike and sorting has its work.
fn readings(plant: &Plant, shift: &ShiftInstance, every: i64) -> Vec<NumberSeries> {
    let steps = (shift.ends - shift.starts).0 / Span::seconds(every).0;
    let series = |(id, signal): (SignalId, &Signal)| {
        let middle = match signal.quantity {
            Quantity::AirTemperature => 220.0,
            Quantity::BandSpeed => 2.0,
            _ => 60.0,
        };
        let mut series = NumberSeries::new(id);
        for step in 0..steps {
            let swing = ((step * 7919 + i64::from(id.0) * 104_729) as f64).sin();
            series.push(shift.starts + Span::seconds(step * every), middle + swing, Quality::Good);
        }
        series
    };
    plant.signals.iter().map(series).collect()
}

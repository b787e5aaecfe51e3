//! A flood of readings into the broker, and what of it is in the store.

use std::collections::BTreeMap;
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use bakehouse::{BrokerAddress, Flood};
use chrono::{DateTime, Utc};
use reading::{Timestamp, Value};
use store::Store;
use tokio::sync::watch;

use crate::plant::{Plant, wait_for};

/// Values by tag and time.
pub(crate) type Readings = BTreeMap<(String, i64), f64>;

/// A flood that is under way.
pub(crate) struct Flooding(JoinHandle<(String, f64)>);

impl Flooding {
    /// Readings of tunnel-1 straight to the broker, so many a second, of the present.
    pub(crate) fn of(place: &Plant, rate: f64, lasts: Duration) -> Self {
        Self::from(place, rate, lasts, Utc::now())
    }

    /// The same, with times from `start` on.
    pub(crate) fn from(place: &Plant, rate: f64, lasts: Duration, start: DateTime<Utc>) -> Self {
        let broker = BrokerAddress { host: "127.0.0.1".into(), port: place.broker_port };
        let flood = Flood::of_tunnel_1(broker, rate, lasts);
        Self(std::thread::spawn(move || {
            let (_stop, stopped) = watch::channel(false);
            let mut acknowledged = Vec::new();
            let runtime = tokio::runtime::Runtime::new().unwrap();
            let began = Instant::now();
            let delivered = runtime.block_on(flood.run(start, &mut acknowledged, stopped)).unwrap();
            let rate = delivered.acknowledged as f64 / began.elapsed().as_secs_f64();
            (String::from_utf8(acknowledged).unwrap(), rate)
        }))
    }

    /// Waits for its end; gives what the broker has acknowledged.
    pub(crate) fn acknowledged(self) -> Readings {
        self.acknowledged_at().0
    }

    /// The same, and how many that were a second.
    pub(crate) fn acknowledged_at(self) -> (Readings, f64) {
        let (rows, rate) = self.0.join().unwrap();
        let row = |row: &str| {
            let fields: Vec<&str> = row.split(',').collect();
            ((fields[1].to_owned(), Timestamp::parse(fields[0]).unwrap().0), fields[2].parse().unwrap())
        };
        (rows.lines().skip(1).map(row).collect(), rate)
    }
}

/// Waits until the service has stored so many readings since it began.
pub(crate) fn wait_until_stored(place: &Plant, readings: usize) {
    wait_for("every reading to be stored", || place.metric("ovenward_readings_stored_total") == Some(readings as f64));
}

/// Every number of the store; one that is there twice fails the test.
pub(crate) fn stored(place: &Plant) -> Readings {
    stored_between(place, DateTime::<Utc>::MIN_UTC, DateTime::<Utc>::MAX_UTC)
}

/// Those of these times.
pub(crate) fn stored_between(place: &Plant, from: DateTime<Utc>, to: DateTime<Utc>) -> Readings {
    let settings = ovenward::config::load(&place.path("plant.toml")).unwrap();
    let store = Store::open(&settings.data_dir, &settings.plant).unwrap();
    let mut found = Readings::new();
    for stretch in store.readings(None, from.into(), to.into()) {
        for reading in stretch.unwrap() {
            let tag = settings.plant.signals.get(reading.signal).tag.to_string();
            let Value::Number(number) = reading.value else { continue };
            assert_eq!(found.insert((tag, reading.time.0), number), None, "stored twice");
        }
    }
    found
}

/// Fails unless everything that was sent is stored, as it was sent.
pub(crate) fn assert_nothing_lost(sent: &Readings, stored: &Readings) {
    let lost = sent.iter().filter(|(key, value)| stored.get(*key) != Some(*value)).count();
    assert_eq!(lost, 0, "{lost} of {} readings were lost", sent.len());
}

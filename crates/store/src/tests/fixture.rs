//! A small invented plant, and readings of it.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::{fs, io};

use physics::units::{Metre, Pascal};
use reading::{
    Firing, Line, LineIndex, Plant, Quality, Quantity, Reading, ShiftCalendar, Signal, SignalId, SignalMap, Span,
    Timestamp, Value, Zone,
};

use crate::Store;
use crate::disk::Disk;

/// 2026-11-02T00:00:00Z, a Monday.
pub(super) const MONDAY: Timestamp = Timestamp(1_793_577_600_000_000);
pub(super) const HOUR: Span = Span::minutes(60);
pub(super) const DAY: Span = Span::minutes(24 * 60);

pub(super) const SPEED: SignalId = SignalId(0);
pub(super) const PRODUCT: SignalId = SignalId(1);
pub(super) const DEW: SignalId = SignalId(2);
pub(super) const SECOND_SPEED: SignalId = SignalId(3);

fn signal(tag: &str, line: usize, quantity: Quantity) -> Signal {
    Signal::of_topic(tag, LineIndex(line), quantity.of_zone().then_some(1), quantity)
}

/// Signals of two lines; the ids are the constants above.
pub(super) fn signals() -> Vec<Signal> {
    vec![
        signal("mill/tunnel-1/band", 0, Quantity::BandSpeed),
        signal("mill/tunnel-1/product", 0, Quantity::Product),
        signal("mill/tunnel-1/z1/dew", 0, Quantity::DewPoint),
        signal("mill/tunnel-2/band", 1, Quantity::BandSpeed),
    ]
}

pub(super) fn plant(signals: Vec<Signal>) -> Plant {
    let line = |id: &str| Line {
        id: id.into(),
        name: id.to_owned(),
        firing: Firing::Direct,
        fuel: None,
        steam_section: None,
        zones: vec![Zone { length: Metre(7.0) }],
    };
    Plant {
        site: "millbrook".into(),
        name: "Millbrook Bakery".into(),
        pressure: Pascal(101_325.0),
        shifts: ShiftCalendar::new(chrono_tz::UTC, Vec::new()),
        lines: vec![line("tunnel-1"), line("tunnel-2")],
        products: Vec::new(),
        signals: SignalMap::new(signals),
    }
}

pub(super) fn open(folder: &Path) -> Store {
    Store::open(folder, &plant(signals())).unwrap()
}

/// The same, with file operations that can fail.
pub(super) fn open_on(disk: Disk, folder: &Path) -> Store {
    Store::open_on(disk, folder, &plant(signals())).unwrap()
}

/// Counts the file operations of a store, and lets one fail, or that one and all that follow.
#[derive(Clone, Default)]
pub(super) struct Faults {
    inner: Arc<Mutex<Passed>>,
}

#[derive(Default)]
struct Passed {
    count: usize,
    /// The number of the operation that fails, and whether all later ones do.
    failing: Option<(usize, bool)>,
}

impl Faults {
    pub(super) fn disk(&self) -> Disk {
        let faults = self.clone();
        Disk::asking(move |operation| match faults.is_due() {
            true => Err(io::Error::other(format!("{operation:?} fails"))),
            false => Ok(()),
        })
    }

    /// Ends the process instead.
    pub(super) fn aborting_disk(&self) -> Disk {
        let faults = self.clone();
        Disk::asking(move |_| if faults.is_due() { std::process::abort() } else { Ok(()) })
    }

    /// Lets so many operations pass from now on.
    pub(super) fn fail_after(&self, operations: usize, lasting: bool) {
        let mut passed = self.inner.lock().unwrap();
        passed.failing = Some((passed.count + operations, lasting));
    }

    pub(super) fn end(&self) {
        self.inner.lock().unwrap().failing = None;
    }

    /// How many operations there have been.
    pub(super) fn passed(&self) -> usize {
        self.inner.lock().unwrap().count
    }

    fn is_due(&self) -> bool {
        let mut passed = self.inner.lock().unwrap();
        let number = passed.count;
        passed.count += 1;
        passed.failing.is_some_and(|(failing, lasting)| number == failing || lasting && number > failing)
    }
}

pub(super) fn number(signal: SignalId, time: Timestamp, value: f64) -> Reading {
    Reading { signal, time, value: Value::Number(value), quality: Quality::Good }
}

pub(super) fn product(time: Timestamp, code: &str) -> Reading {
    Reading { value: Value::Text(code.into()), ..number(PRODUCT, time, 0.0) }
}

/// The readings of a span at one a minute: three numbers on two lines, and a product each hour.
pub(super) fn span(from: Timestamp, to: Timestamp) -> Vec<Reading> {
    let mut readings = Vec::new();
    let mut time = from;
    while time < to {
        let minute = time.0 / 60_000_000;
        readings.push(number(SPEED, time, 1.2 + (minute % 7) as f64 / 100.0));
        if minute % 60 == 0 {
            readings.push(product(time, if minute % 120 == 0 { "T800" } else { "B400" }));
        }
        readings.push(number(DEW, time, 80.0 + (minute % 11) as f64 / 10.0));
        readings.push(number(SECOND_SPEED, time, 2.0));
        time = time + Span::minutes(1);
    }
    readings
}

/// Everything the store has, as `readings` gives it.
pub(super) fn all(store: &Store) -> Vec<Reading> {
    store.readings(None, Timestamp(i64::MIN), Timestamp(i64::MAX)).flat_map(Result::unwrap).collect()
}

/// The files of sealed readings, unfinished ones included, relative to the store's folder.
pub(super) fn files(folder: &Path) -> Vec<String> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).into_iter().flatten() {
            let path = entry.unwrap().path();
            if path.is_dir() { walk(&path, found) } else { found.push(path) }
        }
    }
    let mut found = Vec::new();
    walk(&folder.join("readings"), &mut found);
    let mut found: Vec<String> =
        found.iter().map(|path| path.strip_prefix(folder).unwrap().to_str().unwrap().to_owned()).collect();
    found.sort();
    found
}

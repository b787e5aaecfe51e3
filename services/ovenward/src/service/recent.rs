//! What was heard of late, kept in memory for whoever looks: the last reading of each signal, the windows of a shift.
//!
//! Detection writes, requests read; neither waits for more than a copy of pointers.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use alert::Watch;
use reading::{LineIndex, Plant, Reading, SignalId, Window};

/// The last readings and windows of the plant.
pub(crate) struct Recent {
    signals: Mutex<Vec<Option<Reading>>>,
    lines: Mutex<Vec<VecDeque<Arc<Window>>>>,
}

impl Recent {
    pub(crate) fn new(plant: &Plant) -> Self {
        let lines = vec![VecDeque::new(); plant.lines.len()];
        Self { signals: Mutex::new(vec![None; plant.signals.len()]), lines: Mutex::new(lines) }
    }

    /// Takes note of readings, in whatever order.
    pub(crate) fn hear(&self, readings: &[Reading]) {
        let mut signals = lock(&self.signals);
        for reading in readings {
            let last = &mut signals[reading.signal.0 as usize];
            if last.as_ref().is_none_or(|last| last.time <= reading.time) {
                *last = Some(reading.clone());
            }
        }
    }

    /// Takes over the windows that detection has.
    pub(crate) fn see(&self, watch: &Watch) {
        for (index, kept) in lock(&self.lines).iter_mut().enumerate() {
            let windows = watch.windows(LineIndex(index));
            let known = kept.back().map(|newest| newest.starts);
            let new = windows.iter().rev().take_while(|window| known.is_none_or(|known| window.starts > known)).count();
            kept.extend(windows.range(windows.len() - new..).cloned());
            while kept.len() > windows.len() {
                kept.pop_front();
            }
        }
    }

    /// The last reading of each signal, in the order of the config.
    pub(crate) fn signals(&self) -> Vec<(SignalId, Option<Reading>)> {
        let numbered = |(index, last): (usize, &Option<Reading>)| (SignalId(index as u32), last.clone());
        lock(&self.signals).iter().enumerate().map(numbered).collect()
    }

    /// The windows of a line of the last hours, in order of time.
    pub(crate) fn windows(&self, line: LineIndex) -> Vec<Arc<Window>> {
        lock(&self.lines)[line.0].iter().cloned().collect()
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

//! How many readings came, and how fast they come of late.

use std::collections::VecDeque;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// "Of late" goes back this far.
const LATE: Duration = Duration::from_secs(30);
/// The count is noted this often at most.
const NOTE_EVERY: Duration = Duration::from_secs(1);

/// Counts readings.
pub(crate) struct Pace(Mutex<Counted>);

struct Counted {
    total: u64,
    /// When how many had come: the first note lies at least as far back as [`LATE`], once there is one.
    notes: VecDeque<(Instant, u64)>,
}

impl Pace {
    /// Nothing has come yet.
    pub(crate) fn new(now: Instant) -> Self {
        Self(Mutex::new(Counted { total: 0, notes: VecDeque::from([(now, 0)]) }))
    }

    /// So many readings more.
    pub(crate) fn add(&self, readings: u64, now: Instant) {
        let mut counted = self.counted();
        counted.total += readings;
        counted.note(now);
    }

    /// Readings in all, and readings a second of late.
    pub(crate) fn at(&self, now: Instant) -> (u64, f64) {
        let mut counted = self.counted();
        counted.note(now);
        let (since, before) = counted.notes.front().copied().unwrap_or((now, counted.total));
        let seconds = (now - since).as_secs_f64();
        (counted.total, if seconds > 0.0 { (counted.total - before) as f64 / seconds } else { 0.0 })
    }

    fn counted(&self) -> MutexGuard<'_, Counted> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Counted {
    fn note(&mut self, now: Instant) {
        if self.notes.back().is_none_or(|(last, _)| now - *last >= NOTE_EVERY) {
            self.notes.push_back((now, self.total));
        }
        while self.notes.get(1).is_some_and(|(second, _)| now - *second >= LATE) {
            self.notes.pop_front();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pace_is_that_of_the_last_half_minute() {
        let began = Instant::now();
        let after = |seconds| began + Duration::from_secs(seconds);
        let pace = Pace::new(began);
        assert_eq!(pace.at(began), (0, 0.0));
        for second in 1..=100 {
            pace.add(40, after(second));
        }
        assert_eq!(pace.at(after(100)), (4000, 40.0));
        let (total, slowing) = pace.at(after(110));
        assert_eq!(total, 4000);
        assert!((slowing - 40.0 * 20.0 / 30.0).abs() < 2.0, "{slowing}");
        assert_eq!(pace.at(after(200)), (4000, 0.0));
    }
}

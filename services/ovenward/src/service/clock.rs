//! The time at the plant: the machine's clock, or the demo's, which runs faster.

use std::sync::Arc;
use std::time::{Instant, SystemTime, UNIX_EPOCH};

use reading::{Span, Timestamp};

/// Tells the time at the plant.
#[derive(Debug, Clone, Copy)]
pub enum PlantClock {
    /// The machine's clock.
    Machine,
    /// A simulated plant's: it stood at `start` at the moment `here`, and runs `speed` times as fast.
    Simulated {
        /// Plant time at `here`.
        start: Timestamp,
        /// When it began to run.
        here: Instant,
        /// How many times faster it runs.
        speed: f64,
    },
}

impl PlantClock {
    /// A clock that shows `start` now and runs `speed` times as fast as ours.
    #[must_use]
    pub fn simulated(start: Timestamp, speed: f64) -> Self {
        Self::Simulated { start, here: Instant::now(), speed }
    }

    /// The time at the plant.
    #[must_use]
    pub fn now(&self) -> Timestamp {
        match self {
            // A clock before 1970 is wrong by any account; 1970 will do for it.
            Self::Machine => {
                Timestamp(SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_micros() as i64))
            }
            Self::Simulated { start, here, speed } => {
                *start + Span((here.elapsed().as_secs_f64() * speed * 1e6) as i64)
            }
        }
    }

    /// The same clock in the form that the broker wants.
    #[must_use]
    pub fn for_broker(self) -> broker::Clock {
        Arc::new(move || self.now().0)
    }
}

/// Notices when the machine's clock is set: a reading without a time of its own gets the clock's, and cannot be
/// trusted around a step.
#[derive(Debug, Default)]
pub(crate) struct StepWatch {
    last: Option<(Timestamp, Instant)>,
    /// Times of receipt are not to be trusted before this one.
    doubtful_until: Option<Timestamp>,
}

impl StepWatch {
    /// A smaller difference to the time that has really passed is the clock being slewed, not set.
    const STEP: Span = Span::seconds(1);
    /// After a step forward the time before was wrong as well; this much is marked.
    const SETTLING: Span = Span::minutes(1);

    /// Takes note of the clock, and of the time that has really passed. Whether times of receipt are doubtful now.
    pub(crate) fn is_doubtful(&mut self, wall: Timestamp, steady: Instant) -> bool {
        if let Some((wall_before, steady_before)) = self.last.replace((wall, steady)) {
            let passed_us = steady.duration_since(steady_before).as_micros() as i64;
            let step = Span((wall - wall_before).0 - passed_us);
            if step.0.abs() > Self::STEP.0 {
                tracing::warn!(
                    step_s = step.as_seconds(),
                    "the clock was set; readings without a time of their own are marked uncertain for a while"
                );
                // Set back, it comes by times that were given already.
                self.doubtful_until = Some(wall_before.max(wall + Self::SETTLING));
            }
        }
        self.doubtful_until = self.doubtful_until.filter(|until| wall < *until);
        self.doubtful_until.is_some()
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    #[test]
    fn a_clock_that_is_set_makes_times_doubtful_for_a_while_and_one_that_runs_does_not() {
        let (mut watch, began) = (StepWatch::default(), Instant::now());
        let mut doubtful = |wall_s: i64, steady_s: u64| {
            watch.is_doubtful(Timestamp(wall_s * 1_000_000), began + Duration::from_secs(steady_s))
        };
        assert!(!doubtful(1000, 0));
        assert!(!doubtful(1600, 600), "ten quiet minutes");
        assert!(!doubtful(1602, 601), "a second ahead of itself is no step");
        assert!(doubtful(1702, 602), "set forward by 99 s");
        assert!(doubtful(1761, 661));
        assert!(!doubtful(1762, 662));
        assert!(doubtful(1463, 663), "set back by 300 s");
        assert!(doubtful(1761, 961));
        assert!(!doubtful(1763, 963), "past what was given already");
    }
}

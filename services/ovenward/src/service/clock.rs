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

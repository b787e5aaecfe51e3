//! How long to wait before the next attempt to connect.

use std::hash::{BuildHasher, RandomState};
use std::time::Duration;

const SHORTEST: Duration = Duration::from_millis(200);
const LONGEST: Duration = Duration::from_secs(30);

/// A connection that lived this long was a good one: the next fault starts again at the shortest
/// pause. One that is cut sooner is not, or two programs with the same client id would take the
/// session from each other five times a second.
const GOOD_CONNECTION: Duration = Duration::from_secs(5);

/// Pauses that double from 0.2 s to 30 s, each shortened at random by up to a half, so that a
/// broker coming back is not met by all its clients in the same instant.
#[derive(Debug)]
pub(crate) struct Backoff {
    next: Duration,
}

impl Backoff {
    pub(crate) fn new() -> Self {
        Self { next: SHORTEST }
    }

    /// Takes note of how long a connection lived.
    pub(crate) fn connection_lived(&mut self, lived: Duration) {
        if lived >= GOOD_CONNECTION {
            self.next = SHORTEST;
        }
    }

    /// The pause to make now.
    pub(crate) fn pause(&mut self) -> Duration {
        let whole = self.next;
        self.next = (whole * 2).min(LONGEST);
        whole.mul_f64(1.0 - 0.5 * random_fraction())
    }
}

/// A number in 0..1. The standard library seeds each `RandomState` differently; that is random
/// enough to spread clients in time, and needs no generator of its own.
fn random_fraction() -> f64 {
    let random = RandomState::new().hash_one(0_u8);
    f64::from((random >> 32) as u32) / f64::from(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pauses_double_up_to_the_longest_and_keep_at_least_half() {
        let mut backoff = Backoff::new();
        let mut whole = SHORTEST;
        for _ in 0..12 {
            let pause = backoff.pause();
            assert!(pause >= whole / 2 && pause <= whole, "{pause:?} of {whole:?}");
            whole = (whole * 2).min(LONGEST);
        }
        assert_eq!(whole, LONGEST);
    }

    #[test]
    fn only_a_good_connection_starts_the_pauses_again() {
        let mut backoff = Backoff::new();
        for _ in 0..5 {
            backoff.pause();
        }
        backoff.connection_lived(Duration::from_millis(100));
        assert!(backoff.pause() > SHORTEST);
        backoff.connection_lived(GOOD_CONNECTION);
        assert!(backoff.pause() <= SHORTEST);
    }

    #[test]
    fn pauses_are_not_all_alike() {
        let pauses: std::collections::HashSet<Duration> = (0..20).map(|_| Backoff::new().pause()).collect();
        assert!(pauses.len() > 10);
    }
}

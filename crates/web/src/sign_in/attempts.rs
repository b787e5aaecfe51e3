//! Passwords are not to be guessed: after some wrong ones a name has to wait.

use std::collections::HashMap;
use std::time::{Duration, Instant};

/// Wrong passwords in a row before a name has to wait.
const ALLOWED: u32 = 5;
/// For so long.
const WAIT: Duration = Duration::from_secs(300);
/// Names kept in mind.
const MOST: usize = 10_000;

/// The wrong passwords of late, by name.
#[derive(Default)]
pub(super) struct Attempts {
    by_name: HashMap<String, (u32, Instant)>,
}

impl Attempts {
    /// How long a name has to wait; `None` if it may try.
    pub(super) fn wait(&self, name: &str, now: Instant) -> Option<Duration> {
        let (count, last) = self.by_name.get(name)?;
        let passed = now.duration_since(*last);
        (*count >= ALLOWED && passed < WAIT).then(|| WAIT - passed)
    }

    /// Takes note of a wrong password. Also of a try that is still under way: many at once are many.
    pub(super) fn note(&mut self, name: &str, now: Instant) {
        self.by_name.retain(|_, (_, last)| now.duration_since(*last) < WAIT);
        if self.by_name.len() < MOST || self.by_name.contains_key(name) {
            let (count, last) = self.by_name.entry(name.into()).or_insert((0, now));
            (*count, *last) = (*count + 1, now);
        }
    }

    /// Takes note of a right password.
    pub(super) fn forget(&mut self, name: &str) {
        self.by_name.remove(name);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_waits_after_wrong_passwords_and_a_right_one_clears_it() {
        let (mut attempts, now) = (Attempts::default(), Instant::now());
        (0..ALLOWED).for_each(|_| attempts.note("Ann", now));
        assert_eq!(attempts.wait("Ann", now), Some(WAIT));
        assert_eq!(attempts.wait("Ben", now), None);
        assert_eq!(attempts.wait("Ann", now + WAIT), None);
        (1..ALLOWED).for_each(|_| attempts.note("Ben", now));
        assert_eq!(attempts.wait("Ben", now), None);
        attempts.forget("Ann");
        assert_eq!(attempts.wait("Ann", now), None);
    }
}

//! A checksum that is the same on every machine and in every release.

use crate::observation::{Observation, RiseChange};

/// The 64-bit FNV-1a hash (Fowler, Noll and Vo; RFC 9923). It finds a file that was damaged or edited by
/// hand; it does not prove who wrote it.
#[derive(Debug)]
pub(crate) struct Checksum(u64);

impl Default for Checksum {
    fn default() -> Self {
        Self::new()
    }
}

impl Checksum {
    /// Of nothing.
    pub(crate) fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

    /// Takes in more bytes.
    pub(crate) fn add(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }

    fn add_numbers(&mut self, numbers: &[f64]) {
        // The length first, so that values cannot move from one list to the next unseen.
        self.add(&(numbers.len() as u64).to_le_bytes());
        for number in numbers {
            self.add(&number.to_bits().to_le_bytes());
        }
    }

    /// 16 hexadecimal digits.
    pub(crate) fn digits(&self) -> String {
        format!("{:016x}", self.0)
    }
}

/// Checksum of the data that a normal is learned from; both lists in their fixed order.
pub(crate) fn data_checksum(observations: &[&Observation], rises: &[&RiseChange]) -> String {
    let mut checksum = Checksum::new();
    for observation in observations {
        checksum.add(&observation.time_us.to_le_bytes());
        checksum.add(&observation.run.to_le_bytes());
        checksum.add_numbers(&[observation.speed.0]);
        checksum.add_numbers(&observation.ln_humidity);
        checksum.add_numbers(&observation.temperature);
    }
    for rise in rises {
        checksum.add(&rise.began_us.to_le_bytes());
        checksum.add_numbers(&[rise.ln_speed_change]);
        checksum.add_numbers(&rise.ln_humidity_change);
        checksum.add_numbers(&rise.settled_ln_humidity_change);
    }
    checksum.digits()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use physics::units::MetrePerMinute;

    use super::*;

    /// Test vectors of FNV-1a 64 as its authors publish them (from memory).
    #[test]
    fn published_vectors() {
        for (text, expected) in [("", "cbf29ce484222325"), ("a", "af63dc4c8601ec8c"), ("foobar", "85944171f73967e8")] {
            let mut checksum = Checksum::new();
            checksum.add(text.as_bytes());
            assert_eq!(checksum.digits(), expected, "{text}");
        }
    }

    #[test]
    fn every_value_of_the_data_counts() {
        let window = Observation {
            time_us: 1,
            run: 2,
            speed: MetrePerMinute(1.2),
            ln_humidity: vec![-1.0, -2.0],
            temperature: vec![210.0],
        };
        let rise = RiseChange {
            began_us: 5,
            ln_speed_change: 0.1,
            ln_humidity_change: vec![0.02],
            settled_ln_humidity_change: vec![0.01],
        };
        let windows = [
            Observation { time_us: 2, ..window.clone() },
            Observation { run: 3, ..window.clone() },
            Observation { speed: MetrePerMinute(1.3), ..window.clone() },
            Observation { ln_humidity: vec![-1.0, -2.1], ..window.clone() },
            Observation { temperature: vec![211.0], ..window.clone() },
            // The same numbers in the same order, shared out otherwise.
            Observation { ln_humidity: vec![-1.0], temperature: vec![-2.0, 210.0], ..window.clone() },
            window.clone(),
        ];
        let rises = [
            RiseChange { began_us: 6, ..rise.clone() },
            RiseChange { ln_speed_change: 0.2, ..rise.clone() },
            RiseChange { ln_humidity_change: vec![0.03], ..rise.clone() },
            RiseChange { settled_ln_humidity_change: vec![0.03], ..rise.clone() },
        ];
        let mut found: BTreeSet<String> = windows.iter().map(|window| data_checksum(&[window], &[&rise])).collect();
        found.extend(rises.iter().map(|rise| data_checksum(&[&window], &[rise])));
        assert_eq!(found.len(), windows.len() + rises.len());
    }
}

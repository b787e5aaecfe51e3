//! A checksum that is the same on every machine and in every release.

use crate::observation::{Observation, RiseChange};

/// The 64-bit FNV-1a hash (Fowler, Noll and Vo; RFC 9923). It finds a file that was damaged or edited by
/// hand; it does not prove who wrote it.
pub(crate) struct Checksum(u64);

impl Checksum {
    pub(crate) fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

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
    }
    checksum.digits()
}

#[cfg(test)]
mod tests {
    use super::Checksum;

    /// Test vectors of FNV-1a 64 as its authors publish them (from memory).
    #[test]
    fn published_vectors() {
        for (text, expected) in [("", "cbf29ce484222325"), ("a", "af63dc4c8601ec8c"), ("foobar", "85944171f73967e8")] {
            let mut checksum = Checksum::new();
            checksum.add(text.as_bytes());
            assert_eq!(checksum.digits(), expected, "{text}");
        }
    }
}

//! A small memory of what values mean.

/// Remembers what was found for the values seen of late. A sensor shows the same few hundred values over and over, and
/// what one of them means takes twenty times as long to work out as to look up.
#[derive(Debug)]
pub(crate) struct Remembered<T> {
    /// Where a value's bits lead; another value that leads to the same place takes it over.
    places: Vec<Option<(u64, T)>>,
}

/// As many places as `2^PLACES_LOG2`: tenths of a kelvin over the range of a dew point.
const PLACES_LOG2: u32 = 10;

impl<T: Copy> Default for Remembered<T> {
    fn default() -> Self {
        Self { places: vec![None; 1 << PLACES_LOG2] }
    }
}

impl<T: Copy> Remembered<T> {
    /// What `find` finds for this value, now or earlier.
    pub(crate) fn of(&mut self, value: f64, find: impl FnOnce() -> T) -> T {
        let bits = value.to_bits();
        // Multiplying by 2^64 over the golden ratio spreads neighbouring values over all places (Fibonacci hashing).
        let place = bits.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> (u64::BITS - PLACES_LOG2);
        match &self.places[place as usize] {
            Some((known, found)) if *known == bits => *found,
            _ => {
                let found = find();
                self.places[place as usize] = Some((bits, found));
                found
            }
        }
    }

    /// Forgets everything: the next values mean something else.
    pub(crate) fn forget(&mut self) {
        self.places.fill(None);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_remembered_is_what_would_be_found() {
        let mut known = Remembered::default();
        let mut asked = 0;
        for round in 0..3 {
            // Three times as many values as places.
            for step in 0..3072 {
                let value = f64::from(step) * 0.1 - 20.0;
                let found = known.of(value, || {
                    asked += 1;
                    value * 2.0
                });
                assert_eq!(found, value * 2.0, "round {round}");
            }
        }
        known.forget();
        assert_eq!(known.of(5.0, || 7.0), 7.0);
        assert_eq!(known.of(5.0, || 8.0), 7.0);
    }
}

//! The sequence numbers of a node: 0 to 255 and round again, one more with each message of the node and its devices.
//!
//! Sparkplug data are sent without acknowledgement (QoS 0), so that nobody repeats what is lost on its way. The numbers
//! are the only trace that it leaves.

use reading::{Span, Timestamp};
use serde::{Deserialize, Serialize};

/// A number so far ahead of the one expected is taken for one behind it.
const HALF_ROUND: u8 = 128;

/// How a message stands in the sequence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// It is the one expected, or the first of all.
    Next,
    /// Others before it have not come yet.
    Ahead,
    /// It had been missed, and has come after all.
    Belated,
    /// It is behind, and nobody missed it: sent twice, or of a session whose birth was lost.
    Stray,
}

/// A message that has not come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
struct Hole {
    number: u8,
    /// When the last message before the hole was received.
    began: Timestamp,
    /// When the first one behind it was.
    noticed: Timestamp,
}

/// What is known of a node's sequence.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sequence {
    /// The number expected next; `None` before the first message.
    next: Option<u8>,
    /// When the last message was received.
    received: Timestamp,
    holes: Vec<Hole>,
}

/// Messages that are taken for lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LostMessages {
    /// Up to here everything was received.
    pub began: Timestamp,
    /// From here on it was again.
    pub ended: Timestamp,
    /// How many.
    pub count: u64,
}

impl Sequence {
    /// Takes the number of a message received now.
    pub fn take(&mut self, number: u8, now: Timestamp) -> Place {
        let began = std::mem::replace(&mut self.received, now);
        let Some(next) = self.next else {
            self.next = Some(number.wrapping_add(1));
            return Place::Next;
        };
        if let Some(hole) = self.holes.iter().position(|hole| hole.number == number) {
            self.holes.remove(hole);
            return Place::Belated;
        }
        let ahead = number.wrapping_sub(next);
        if ahead >= HALF_ROUND {
            return Place::Stray;
        }
        let missed = (0..ahead).map(|step| Hole { number: next.wrapping_add(step), began, noticed: now });
        self.holes.extend(missed);
        self.next = Some(number.wrapping_add(1));
        if ahead == 0 { Place::Next } else { Place::Ahead }
    }

    /// Begins anew behind a node's birth that has this number.
    pub fn begin(&mut self, number: u8, now: Timestamp) {
        // What is missing stays missing: it was of the session before.
        (self.next, self.received) = (Some(number.wrapping_add(1)), now);
    }

    /// Gives up what has been missing for longer than `patience`.
    pub fn give_up(&mut self, now: Timestamp, patience: Span) -> Option<LostMessages> {
        let (lost, missing): (Vec<Hole>, _) = self.holes.iter().partition(|hole| now - hole.noticed >= patience);
        self.holes = missing;
        Some(LostMessages {
            began: lost.iter().map(|hole| hole.began).min()?,
            ended: lost.iter().map(|hole| hole.noticed).max()?,
            count: lost.len() as u64,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn at(second: i64) -> Timestamp {
        Timestamp(second * 1_000_000)
    }

    const PATIENCE: Span = Span::seconds(2);

    /// How numbers stand that are received each at its second.
    fn take(sequence: &mut Sequence, numbers: &[(u8, i64)]) -> Vec<Place> {
        numbers.iter().map(|(number, second)| sequence.take(*number, at(*second))).collect()
    }

    #[test]
    fn numbers_go_round_at_256() {
        let mut sequence = Sequence::default();
        let places = take(&mut sequence, &[(254, 1), (255, 1), (0, 1), (1, 1)]);
        assert_eq!(places, [Place::Next; 4]);
    }

    #[test]
    fn what_comes_late_but_in_time_is_not_lost() {
        let mut sequence = Sequence::default();
        let taken = take(&mut sequence, &[(1, 10), (2, 11), (4, 12), (3, 13)]);
        assert_eq!(taken, [Place::Next, Place::Next, Place::Ahead, Place::Belated]);
        assert_eq!(sequence.give_up(at(99), PATIENCE), None);
    }

    #[test]
    fn what_does_not_come_is_lost_once_with_the_time_around_it() {
        let mut sequence = Sequence::default();
        take(&mut sequence, &[(1, 10), (2, 11), (5, 20)]);
        assert_eq!(sequence.give_up(at(21), PATIENCE), None, "there is time yet");
        assert_eq!(sequence.give_up(at(22), PATIENCE), Some(LostMessages { began: at(11), ended: at(20), count: 2 }));
        assert_eq!(sequence.give_up(at(30), PATIENCE), None);
        assert_eq!(sequence.take(6, at(31)), Place::Next);
    }

    #[test]
    fn a_number_again_is_a_stray_and_changes_nothing() {
        let mut sequence = Sequence::default();
        take(&mut sequence, &[(7, 1), (8, 1)]);
        assert_eq!(sequence.take(8, at(2)), Place::Stray);
        assert_eq!(sequence.take(150, at(2)), Place::Stray, "141 ahead is 115 behind");
        assert_eq!(sequence.take(9, at(3)), Place::Next);
    }

    #[test]
    fn a_birth_begins_anew_and_what_was_missing_before_it_still_is() {
        let mut sequence = Sequence::default();
        take(&mut sequence, &[(10, 1), (12, 2)]);
        sequence.begin(0, at(3));
        assert_eq!(sequence.take(1, at(4)), Place::Next);
        assert_eq!(sequence.give_up(at(9), PATIENCE).map(|lost| lost.count), Some(1));
    }
}

//! Where an alert stands in its life, and which way leads on from there (ISA-18.2 / IEC 62682).

use std::fmt;

use serde::{Deserialize, Serialize};

/// Where an alert stands in its life; the loudest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AlertState {
    /// It stands and nobody has answered.
    Unacknowledged,
    /// It stands and somebody has answered.
    Acknowledged,
    /// It stands, and somebody has put its kind on the shelf until a time.
    Shelved,
    /// It stands, and somebody has taken its kind out of service until it is put back.
    OutOfService,
    /// The cause is gone; nobody had answered.
    ReturnedUnacknowledged,
    /// The cause is gone; somebody has answered.
    ReturnedAcknowledged,
    /// The cause is gone while the alert called nobody, so nobody is asked for an answer.
    ReturnedSuppressed,
}

/// What happens to an alert.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Transition {
    /// Somebody answers.
    Acknowledge,
    /// Its cause is gone.
    Return,
    /// Its kind is put on the shelf, or is to stay there for longer or shorter.
    Shelve,
    /// The time on the shelf is over, or somebody ends it.
    Unshelve,
    /// Its kind is taken out of service.
    TakeOutOfService,
    /// Its kind is put back in service.
    PutInService,
}

impl AlertState {
    /// Every state.
    pub const ALL: [Self; 7] = [
        Self::Unacknowledged,
        Self::Acknowledged,
        Self::Shelved,
        Self::OutOfService,
        Self::ReturnedUnacknowledged,
        Self::ReturnedAcknowledged,
        Self::ReturnedSuppressed,
    ];

    /// The state after something has happened.
    ///
    /// An alert that comes off the shelf calls anew, whoever had answered before: the standard, as far as
    /// memory goes, leads from there to unacknowledged as well, and what was put away is easily forgotten.
    ///
    /// # Errors
    /// No such way leads on from here.
    pub fn after(self, transition: Transition) -> Result<Self, Forbidden> {
        match (self, transition) {
            (Self::Unacknowledged, Transition::Acknowledge) => Ok(Self::Acknowledged),
            (Self::ReturnedUnacknowledged, Transition::Acknowledge) => Ok(Self::ReturnedAcknowledged),
            (Self::Unacknowledged, Transition::Return) => Ok(Self::ReturnedUnacknowledged),
            (Self::Acknowledged, Transition::Return) => Ok(Self::ReturnedAcknowledged),
            (Self::Shelved | Self::OutOfService, Transition::Return) => Ok(Self::ReturnedSuppressed),
            (Self::Unacknowledged | Self::Acknowledged | Self::Shelved, Transition::Shelve) => Ok(Self::Shelved),
            (
                Self::Unacknowledged | Self::Acknowledged | Self::Shelved | Self::OutOfService,
                Transition::TakeOutOfService,
            ) => Ok(Self::OutOfService),
            (Self::Shelved, Transition::Unshelve) | (Self::OutOfService, Transition::PutInService) => {
                Ok(Self::Unacknowledged)
            }
            (state, transition) => Err(Forbidden { state, transition }),
        }
    }

    /// Whether it stands and calls nobody.
    #[must_use]
    pub fn is_suppressed(self) -> bool {
        matches!(self, Self::Shelved | Self::OutOfService)
    }

    /// Its name in messages and files.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Unacknowledged => "unacknowledged",
            Self::Acknowledged => "acknowledged",
            Self::Shelved => "shelved",
            Self::OutOfService => "out-of-service",
            Self::ReturnedUnacknowledged => "returned-unacknowledged",
            Self::ReturnedAcknowledged => "returned-acknowledged",
            Self::ReturnedSuppressed => "returned-suppressed",
        }
    }

    fn is_over(self) -> bool {
        matches!(self, Self::ReturnedUnacknowledged | Self::ReturnedAcknowledged | Self::ReturnedSuppressed)
    }
}

/// That no way leads on, with what to do instead: the end of a sentence that begins with the alert.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Forbidden {
    /// Where the alert stands.
    pub state: AlertState,
    /// What was to happen.
    pub transition: Transition,
}

impl std::error::Error for Forbidden {}

impl fmt::Display for Forbidden {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match (self.state, self.transition) {
            (AlertState::Acknowledged | AlertState::ReturnedAcknowledged, Transition::Acknowledge) => {
                "is acknowledged already; a comment adds to it"
            }
            (AlertState::Shelved, Transition::Acknowledge) => "is shelved and calls nobody; unshelve it first",
            (AlertState::OutOfService, Transition::Acknowledge) => {
                "is out of service and calls nobody; put it back in service first"
            }
            (AlertState::OutOfService, Transition::Shelve) => {
                "is out of service, which holds until it is put back; put it back in service to shelve it instead"
            }
            (state, _) if state.is_over() => {
                "is over, so that only a comment can be added; shelve its line and kind instead"
            }
            (_, Transition::Unshelve) => "is not shelved",
            (_, Transition::PutInService) => "is not out of service",
            (state, _) => return write!(f, "is {}", state.name()),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::AlertState::{
        Acknowledged, OutOfService, ReturnedAcknowledged, ReturnedSuppressed, ReturnedUnacknowledged, Shelved,
        Unacknowledged,
    };
    use super::Transition::{Acknowledge, PutInService, Return, Shelve, TakeOutOfService, Unshelve};
    use super::*;

    /// Every state down, every transition across; a dash is forbidden.
    #[test]
    fn every_way_and_every_forbidden_one() {
        let no = None;
        let [una, ack, she, out] = [Unacknowledged, Acknowledged, Shelved, OutOfService].map(Some);
        let [gone, done, quiet] = [ReturnedUnacknowledged, ReturnedAcknowledged, ReturnedSuppressed].map(Some);
        let across = [Acknowledge, Return, Shelve, Unshelve, TakeOutOfService, PutInService];
        let table = [
            [ack, gone, she, no, out, no],
            [no, done, she, no, out, no],
            [no, quiet, she, una, out, no],
            [no, quiet, no, no, out, una],
            [done, no, no, no, no, no],
            [no, no, no, no, no, no],
            [no, no, no, no, no, no],
        ];
        for (state, row) in AlertState::ALL.into_iter().zip(table) {
            for (transition, expected) in across.into_iter().zip(row) {
                assert_eq!(state.after(transition).ok(), expected, "{state:?} {transition:?}");
            }
        }
    }

    #[test]
    fn what_is_forbidden_says_what_to_do_instead() {
        for (state, transition, words) in [
            (Acknowledged, Acknowledge, "is acknowledged already"),
            (Shelved, Acknowledge, "unshelve it first"),
            (OutOfService, Acknowledge, "put it back in service first"),
            (OutOfService, Shelve, "is out of service"),
            (ReturnedAcknowledged, Shelve, "is over"),
            (ReturnedSuppressed, Acknowledge, "is over"),
            (Unacknowledged, Unshelve, "is not shelved"),
            (Shelved, PutInService, "is not out of service"),
        ] {
            let said = state.after(transition).map_err(|forbidden| forbidden.to_string());
            assert!(said.as_ref().is_err_and(|said| said.contains(words)), "{state:?} {transition:?}: {said:?}");
        }
    }

    #[test]
    fn a_state_is_written_by_its_name() {
        for state in AlertState::ALL {
            assert_eq!(serde_json::to_value(state).ok(), Some(state.name().into()));
        }
    }
}

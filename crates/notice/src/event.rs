//! What there is to tell about an alert.

use alert::AlertState;

/// What there is to tell about an alert.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Event {
    /// It calls: it was raised, or came off the shelf.
    Raised,
    /// It stands and calls nobody any more: somebody has acknowledged it, shelved it or taken it out of service.
    Answered,
    /// Its cause is gone. Nothing more is told after this.
    Ended,
}

impl Event {
    /// Every event.
    pub const ALL: [Self; 3] = [Self::Raised, Self::Answered, Self::Ended];

    /// What there is to tell about an alert that has come to a state.
    #[must_use]
    pub fn of(state: AlertState) -> Self {
        match state {
            AlertState::Unacknowledged => Self::Raised,
            AlertState::Acknowledged | AlertState::Shelved | AlertState::OutOfService => Self::Answered,
            AlertState::ReturnedUnacknowledged | AlertState::ReturnedAcknowledged | AlertState::ReturnedSuppressed => {
                Self::Ended
            }
        }
    }

    /// Its name in messages and in the store.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Raised => "raised",
            Self::Answered => "answered",
            Self::Ended => "ended",
        }
    }

    /// The event of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|event| event.name() == name)
    }
}

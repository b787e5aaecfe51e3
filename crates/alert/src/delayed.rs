//! From a condition that comes and goes to one that stands: on-delay and off-delay.

use reading::{Span, Timestamp};

/// What a condition that has lasted calls for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Step {
    /// Nothing to do.
    Stay,
    /// The condition has lasted for the on-delay.
    Raise,
    /// The condition has been gone for the off-delay.
    End,
}

/// A condition seen through its delays.
#[derive(Debug, Clone)]
pub(crate) struct Delayed {
    on_delay: Span,
    off_delay: Span,
    stands: bool,
    /// Since when the condition has been other than what stands.
    changed: Option<Timestamp>,
}

impl Delayed {
    /// Begins with nothing standing.
    #[must_use]
    pub(crate) fn new(on_delay: Span, off_delay: Span) -> Self {
        Self { on_delay, off_delay, stands: false, changed: None }
    }

    /// Whether the alert stands.
    #[must_use]
    pub(crate) fn stands(&self) -> bool {
        self.stands
    }

    /// Since when the condition has been other than what stands.
    #[must_use]
    pub(crate) fn changed(&self) -> Option<Timestamp> {
        self.changed
    }

    /// Takes the condition as it was from `starts` to `ends`.
    pub(crate) fn observe(&mut self, condition: bool, starts: Timestamp, ends: Timestamp) -> Step {
        if condition == self.stands {
            self.changed = None;
            return Step::Stay;
        }
        let since = *self.changed.get_or_insert(starts);
        let delay = if self.stands { self.off_delay } else { self.on_delay };
        if ends - since < delay {
            return Step::Stay;
        }
        self.changed = None;
        self.stands = condition;
        if condition { Step::Raise } else { Step::End }
    }

    /// Ends whatever stands, at once; says whether something stood.
    pub(crate) fn clear(&mut self) -> bool {
        self.changed = None;
        std::mem::take(&mut self.stands)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steps(delayed: &mut Delayed, conditions: &str) -> String {
        let window = Span::seconds(30);
        let mut time = Timestamp(0);
        conditions
            .chars()
            .map(|condition| {
                let step = delayed.observe(condition == '1', time, time + window);
                time = time + window;
                match step {
                    Step::Stay => '.',
                    Step::Raise => 'R',
                    Step::End => 'E',
                }
            })
            .collect()
    }

    #[test]
    fn a_condition_must_last_to_raise_and_be_gone_to_end() {
        let mut delayed = Delayed::new(Span::seconds(60), Span::seconds(90));
        assert_eq!(steps(&mut delayed, "0101101001000"), "....R.......E");
    }
}

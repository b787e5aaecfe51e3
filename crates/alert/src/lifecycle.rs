//! From evidence that comes and goes to one alert: on-delay and off-delay.

use reading::{Span, Timestamp};

/// What a condition that has lasted calls for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// Nothing to do.
    Stay,
    /// The condition has lasted for the on-delay.
    Raise,
    /// The condition has been gone for the off-delay.
    End,
}

/// The delays of one kind of alert.
#[derive(Debug, Clone)]
pub struct Lifecycle {
    on_delay: Span,
    off_delay: Span,
    stands: bool,
    /// Since when the condition has been other than what stands.
    changed: Option<Timestamp>,
}

impl Lifecycle {
    /// Begins with nothing standing.
    #[must_use]
    pub fn new(on_delay: Span, off_delay: Span) -> Self {
        Self { on_delay, off_delay, stands: false, changed: None }
    }

    /// Whether the alert stands.
    #[must_use]
    pub fn stands(&self) -> bool {
        self.stands
    }

    /// Since when the condition has been other than what stands.
    #[must_use]
    pub fn changed(&self) -> Option<Timestamp> {
        self.changed
    }

    /// Takes the condition as it was from `starts` to `ends`.
    pub fn observe(&mut self, condition: bool, starts: Timestamp, ends: Timestamp) -> Step {
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
    pub fn clear(&mut self) -> bool {
        self.changed = None;
        std::mem::take(&mut self.stands)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steps(lifecycle: &mut Lifecycle, conditions: &str) -> String {
        let window = Span::seconds(30);
        let mut time = Timestamp(0);
        conditions
            .chars()
            .map(|condition| {
                let step = lifecycle.observe(condition == '1', time, time + window);
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
        let mut lifecycle = Lifecycle::new(Span::seconds(60), Span::seconds(90));
        assert_eq!(steps(&mut lifecycle, "0101101001000"), "....R.......E");
    }
}

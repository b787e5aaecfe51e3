//! One possible alert: its delays, and the alert while it stands.

use reading::{Timestamp, Window};

use crate::alert::Alert;
use crate::delayed::{Delayed, Step};
use crate::line_watch::LineEvent;
use crate::settings::Delays;

/// One possible alert of a line.
#[derive(Debug, Clone)]
pub(crate) struct Standing {
    condition: Delayed,
    alert: Option<Alert>,
}

impl Standing {
    pub(crate) fn new(delays: Delays) -> Self {
        Self { condition: Delayed::new(delays.on, delays.off), alert: None }
    }

    pub(crate) fn alert(&self) -> Option<&Alert> {
        self.alert.as_ref()
    }

    pub(crate) fn stands(&self) -> bool {
        self.alert.is_some()
    }

    /// Whether there is nothing to remember.
    pub(crate) fn is_idle(&self) -> bool {
        !self.condition.stands() && self.condition.changed().is_none()
    }

    /// Takes the condition of a window. `make` is asked for the alert once the condition has lasted,
    /// with the moment from which it has; without an alert the delay begins anew.
    pub(crate) fn observe(
        &mut self,
        condition: bool,
        window: &Window,
        make: impl FnOnce(Timestamp) -> Option<Alert>,
    ) -> Option<LineEvent> {
        let since = self.condition.changed().unwrap_or(window.starts);
        match self.condition.observe(condition, window.starts, window.ends) {
            Step::Raise => {
                self.alert = make(since);
                if self.alert.is_none() {
                    self.condition.clear();
                }
                self.alert.clone().map(|alert| LineEvent::Raised(Box::new(alert)))
            }
            Step::End => self.end(window.ends),
            Step::Stay => None,
        }
    }

    /// Forgets the condition and ends what stands.
    pub(crate) fn clear(&mut self, now: Timestamp) -> Option<LineEvent> {
        self.condition.clear();
        self.end(now)
    }

    fn end(&mut self, now: Timestamp) -> Option<LineEvent> {
        let mut alert = self.alert.take()?;
        alert.end(now);
        Some(LineEvent::Ended(Box::new(alert)))
    }
}

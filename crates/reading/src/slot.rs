//! The readings of one signal that wait for their window to close.

use std::collections::VecDeque;
use std::sync::Arc;

use crate::quantity::Quantity;
use crate::signal::{Signal, SignalId};
use crate::time::{Span, Timestamp};
use crate::trouble::{Stillness, Trouble, TroubleKind};
use crate::value::{Quality, Value};

/// What a signal said in one window, in the unit used for calculation.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Summary {
    Number { mean: f64, low: f64 },
    Text(Arc<str>),
}

/// The waiting readings of one signal.
#[derive(Debug, Clone)]
pub(crate) struct Slot {
    pub(crate) signal: SignalId,
    pub(crate) quantity: Quantity,
    pub(crate) zone: Option<usize>,
    max_age: Span,
    to_base: Signal,
    /// In order of time; `None` says that from here on there is no value.
    pending: VecDeque<(Timestamp, Option<Value>)>,
    /// The last word of the windows that have closed.
    last: Option<(Timestamp, Option<Value>)>,
    newest: Option<Timestamp>,
    /// The newest believable value that a window has taken.
    heard: Option<Timestamp>,
    stillness: Stillness,
    /// Since when its values are outside all that such a sensor can show.
    out_of_range: Option<Timestamp>,
}

impl Slot {
    pub(crate) fn new(id: SignalId, signal: &Signal) -> Self {
        Self {
            signal: id,
            quantity: signal.quantity,
            zone: signal.zone,
            max_age: signal.max_age,
            to_base: signal.clone(),
            pending: VecDeque::new(),
            last: None,
            newest: None,
            heard: None,
            stillness: Stillness::default(),
            out_of_range: None,
        }
    }

    pub(crate) fn push(&mut self, time: Timestamp, value: Value, quality: Quality, late: bool) {
        self.newest = self.newest.max(Some(time));
        let value = match quality {
            Quality::Good => Some(value),
            Quality::Uncertain => return,
            Quality::Bad => None,
        };
        if late {
            // Too late for its window, yet it may be the latest word on a signal that seldom speaks.
            if self.last.as_ref().is_none_or(|(last, _)| *last < time) {
                self.last = Some((time, value));
            }
            return;
        }
        // Almost always it is the latest.
        if self.pending.back().is_none_or(|(last, _)| *last < time) {
            self.pending.push_back((time, value));
            return;
        }
        let place = self.pending.partition_point(|(other, _)| *other < time);
        if self.pending[place].0 != time {
            self.pending.insert(place, (time, value));
        }
    }

    pub(crate) fn first_pending(&self) -> Option<Timestamp> {
        self.pending.front().map(|(time, _)| *time)
    }

    /// Whether a window that ends here should wait for this signal: a text is sent on change, and a
    /// signal that has fallen silent is not waited for.
    pub(crate) fn is_expected(&self, ends: Timestamp) -> bool {
        !self.quantity.is_text() && self.newest.is_some_and(|newest| newest + self.max_age >= ends)
    }

    pub(crate) fn has_passed(&self, ends: Timestamp) -> bool {
        self.newest.is_some_and(|newest| newest >= ends)
    }

    /// Takes the readings before `ends`. A window without any has the last value, while it is young enough.
    pub(crate) fn close(&mut self, ends: Timestamp) -> Option<Summary> {
        let (mut sum, mut count, mut low) = (0.0, 0_u32, f64::INFINITY);
        while self.pending.front().is_some_and(|(time, _)| *time < ends) {
            let (time, value) = self.pending.pop_front()?;
            if let Some(Value::Number(raw)) = value {
                let value = self.to_base.to_base(raw);
                if !self.quantity.plausible().contains(&value) {
                    self.out_of_range.get_or_insert(time);
                    continue;
                }
                self.out_of_range = None;
                self.stillness.observe(time, raw);
                (sum, count, low) = (sum + value, count + 1, low.min(value));
            }
            if value.is_some() {
                self.heard = self.heard.max(Some(time));
            }
            self.last = Some((time, value));
        }
        if count > 0 {
            return Some(Summary::Number { mean: sum / f64::from(count), low });
        }
        let (time, value) = self.last.as_ref()?;
        if *time + self.max_age < ends {
            return None;
        }
        Some(match value.as_ref()? {
            Value::Number(raw) => {
                let value = self.to_base.to_base(*raw);
                Summary::Number { mean: value, low: value }
            }
            Value::Text(text) => Summary::Text(text.clone()),
        })
    }

    /// What speaks against this signal at the end of a window, on a line heard of since `line_since`.
    pub(crate) fn trouble(&self, ends: Timestamp, line_since: Timestamp) -> Option<Trouble> {
        if self.quantity.is_text() {
            return None;
        }
        let heard = self.heard.unwrap_or(line_since);
        let ended = self.last.as_ref().filter(|(_, value)| value.is_none()).map(|(time, _)| *time);
        let too_old = (ends - heard > self.max_age).then_some(heard);
        let silent = ended.or(too_old).map(|since| (TroubleKind::Silent, since));
        let stuck = || {
            let since = self.quantity.trembles().then(|| self.stillness.stuck_since(ends))??;
            Some((TroubleKind::Stuck, since))
        };
        let out_of_range = self.out_of_range.map(|since| (TroubleKind::OutOfRange, since));
        out_of_range.or(silent).or_else(stuck).map(|(kind, since)| self.found(kind, since))
    }

    /// A trouble of this signal.
    pub(crate) fn found(&self, kind: TroubleKind, since: Timestamp) -> Trouble {
        Trouble { signal: self.signal, zone: self.zone, quantity: self.quantity, kind, since }
    }
}

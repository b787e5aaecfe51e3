//! A reading: which signal, when, what.

use std::sync::Arc;

use crate::signal::SignalId;
use crate::time::Timestamp;

/// One value of one signal at one moment.
///
/// The value is what the plant sent, before scale and unit: those are config, and a config that
/// turns out wrong can be put right for the past as well.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Which signal.
    pub signal: SignalId,
    /// When it was measured.
    pub time: Timestamp,
    /// What was sent.
    pub value: Value,
    /// What the plant says of the value.
    pub quality: Quality,
}

impl Reading {
    /// That a signal has no value from this moment on: it died, or says so itself. The value (0, or an empty text) only
    /// holds the place; the quality keeps it from any use.
    #[must_use]
    pub fn without_value(signal: SignalId, is_text: bool, time: Timestamp) -> Self {
        let value = if is_text { Value::Text("".into()) } else { Value::Number(0.0) };
        Self { signal, time, value, quality: Quality::Bad }
    }
}

/// A value as the plant sent it.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A finite number.
    Number(f64),
    /// A text: the product code.
    Text(Arc<str>),
}

impl Value {
    /// The number, if it is one.
    #[must_use]
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Number(number) => Some(*number),
            Self::Text(_) => None,
        }
    }
}

/// What the plant says of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Quality {
    /// Nothing against it.
    #[default]
    Good,
    /// To be taken with care; kept, and not used for learning or alerts.
    Uncertain,
    /// The plant itself says the value is wrong, or that there is none; kept, and used for nothing but that the value
    /// before no longer stands.
    Bad,
}

impl Quality {
    /// The number under which it is stored, in the manner of OPC: 192, 64, 0.
    #[must_use]
    pub fn code(self) -> u8 {
        match self {
            Self::Good => 192,
            Self::Uncertain => 64,
            Self::Bad => 0,
        }
    }

    /// The quality with this number: 192 and above is good, 64 and above uncertain.
    #[must_use]
    pub fn from_code(code: u8) -> Self {
        match code {
            192.. => Self::Good,
            64.. => Self::Uncertain,
            _ => Self::Bad,
        }
    }
}

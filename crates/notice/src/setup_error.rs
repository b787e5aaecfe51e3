//! Why a receiver cannot be told like this.

/// A setting that cannot be used, with what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{setting}: {reason}")]
pub struct SetupError {
    /// The name of the setting, as the config has it.
    pub setting: &'static str,
    /// Why.
    pub reason: String,
}

impl SetupError {
    pub(crate) fn new(setting: &'static str, reason: impl Into<String>) -> Self {
        Self { setting, reason: reason.into() }
    }
}

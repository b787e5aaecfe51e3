//! Why a notice was not taken, and whether to try again.

/// Why a notice was not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SendError {
    /// The receiver is away or not ready: another try may succeed.
    #[error("{0}")]
    Away(String),
    /// The receiver will never take this.
    #[error("{0}")]
    Refused(String),
}

/// An error with what is behind it: the outermost alone often says no more than "error sending request".
pub(crate) fn in_full(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut source = error.source();
    while let Some(cause) = source {
        let cause_text = cause.to_string();
        // Some libraries repeat the cause in their own words.
        if !text.contains(&cause_text) {
            text = format!("{text}: {cause_text}");
        }
        source = cause.source();
    }
    text
}

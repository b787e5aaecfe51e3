//! Text that is not TOML: the parser's words, and what to write instead.

use toml::de::Error;

use super::fault::FaultList;

/// Notes a fault of syntax.
pub(super) fn refuse(error: &Error, faults: &FaultList<'_>) {
    let span = error.span().unwrap_or(0..0);
    faults.add(span.start, error.message(), "key = value");
}

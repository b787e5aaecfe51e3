//! Why a shift profile could not be made.

/// Why a shift profile could not be made.
#[derive(Debug, thiserror::Error)]
pub enum ShiftProfileError {
    /// The line is none of this plant's.
    #[error("line number {line} is asked for, but the plant has {lines} lines, counted from 0")]
    UnknownLine {
        /// The line asked for.
        line: usize,
        /// How many lines the plant has.
        lines: usize,
    },
    /// The columns of a series do not belong together.
    #[error(
        "the columns of signal {signal} must be equally long; there are {times} times, {values} values and {qualities} qualities"
    )]
    UnequalColumns {
        /// Which signal.
        signal: u32,
        /// Length of the column of times.
        times: usize,
        /// Length of the column of values.
        values: usize,
        /// Length of the column of qualities.
        qualities: usize,
    },
    /// The table engine gave up; no input is known to cause it.
    #[error("the readings could not be summarised: {0}")]
    Summary(#[source] Box<dyn std::error::Error + Send + Sync>),
}

//! What a line is doing: only a line that bakes teaches or alarms.

use serde::Serialize;

/// What a line is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RunningState {
    /// The oven is full of one product and the band runs.
    Baking,
    /// A stretch of empty or disturbed band is in the oven.
    Gap,
    /// One product leaves the oven and another enters.
    Changeover,
    /// The band runs empty: the oven is being heated or cleared.
    Heating,
    /// The band stands still.
    Stopped,
}

//! The physics and the statistics against published values. Each table stands beside its check with its source in its
//! first lines; a check prints how far off its worst row is.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

mod balance;
mod bread;
mod change_points;
mod combustion;
mod control_charts;
mod exhaust;
mod moist_air;
mod regressions;
mod response;
mod saturation;
mod steam;
mod table;

//! Runs of a travelling logger: read from a file, held against the fixed sensors and the normal, kept and compared.
//!
//! ```text
//! FILE ─ logger_file ─ samples ─┐
//! store ─ band speed, zones ────┴─ review ─ RunReview ─┬─ kept (data_dir/transits/*.json)
//! normals ─ expected ───────────┘                      └─ text, JSON, page
//! ```

mod chart;
mod comparison;
mod kept;
mod logger_file;
mod naming;
mod page;
mod review;
mod text;

pub(crate) use comparison::{Change, alike, changes};
pub(crate) use kept::KeptRuns;
pub(crate) use logger_file::{FileColumns, LoggerFile, read_samples};
pub(crate) use naming::Naming;
pub(crate) use page::write_page;
pub(crate) use review::{ReviewInput, RunReview, review};
pub(crate) use text::{write_comparison, write_list, write_review};

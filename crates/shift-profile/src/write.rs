//! The table written for machines and for people.

mod block;
mod chart;
mod csv;
mod html;
mod json;
mod parquet;
mod text;

pub use self::csv::write_csv;
pub use self::html::write_html;
pub use self::json::write_json;
pub use self::parquet::write_parquet;
pub use self::text::write_text;

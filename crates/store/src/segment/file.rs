//! What a segment looks like on the disk: its folder, its columns, its footer.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::datatypes::{DataType, Field, Schema, SchemaRef, TimeUnit};

use super::date_of;

/// Names of the columns, in order.
pub(crate) const COLUMNS: [&str; 5] = ["time", "tag", "value", "text", "quality"];

/// The folder of the sealed readings within the store's.
pub(crate) const READINGS: &str = "readings";

/// How a file's name ends until it is finished.
const UNFINISHED: &str = ".unfinished";

/// Program and version of the layout, as the footer names them under [`FORMAT_KEY`].
pub(crate) const FORMAT: &str = "ovenward-readings-1";

/// Where the footer names the layout.
pub(crate) const FORMAT_KEY: &str = "format";

/// Where the footer of a joined segment names those it was joined of: who goes by the folders passes over them.
pub(crate) const JOINS_KEY: &str = "joins";

/// The columns. `value` is a plain double and times are UTC microseconds: any engine reads them.
pub(crate) fn schema() -> SchemaRef {
    let tag = DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8));
    Arc::new(Schema::new(vec![
        Field::new(COLUMNS[0], DataType::Timestamp(TimeUnit::Microsecond, Some("UTC".into())), false),
        Field::new(COLUMNS[1], tag, false),
        Field::new(COLUMNS[2], DataType::Float64, true),
        Field::new(COLUMNS[3], DataType::Utf8, true),
        Field::new(COLUMNS[4], DataType::UInt8, false),
    ]))
}

/// The folder of a line's day, relative to the store's.
pub(crate) fn folder(site: &str, line: &str, day: i64) -> PathBuf {
    Path::new(READINGS)
        .join(format!("site={site}"))
        .join(format!("line={line}"))
        .join(format!("date={}", date_of(day).format("%Y-%m-%d")))
}

/// The id in a segment's name.
pub(crate) fn id_of(path: &Path) -> Option<i64> {
    path.file_stem()?.to_str()?.parse().ok()
}

/// The name of the segment with this id.
pub(crate) fn name(id: i64) -> String {
    format!("{}.parquet", stem(id))
}

/// The same without its ending.
pub(crate) fn stem(id: i64) -> String {
    format!("{id:08}")
}

/// The name it has until it is finished: whoever lists `*.parquet`, or passes over names that begin
/// with a dot, does not see it.
pub(crate) fn unfinished_name(name: &str) -> String {
    format!(".{name}{UNFINISHED}")
}

pub(crate) fn is_unfinished(path: &Path) -> bool {
    path.to_str().is_some_and(|path| path.ends_with(UNFINISHED))
}

pub(crate) fn is_finished(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension == "parquet")
}

//! CSV: `time,tag,value[,quality]`.

use std::fs::File;
use std::path::Path;

use anyhow::{Result, ensure};

use super::Row;

pub(super) fn rows(path: &Path) -> Result<Box<dyn Iterator<Item = Result<Row>>>> {
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(File::open(path)?);
    let header: Vec<String> = reader.headers()?.iter().map(|name| name.trim().to_owned()).collect();
    let named: Vec<&str> = header.iter().map(String::as_str).collect();
    ensure!(
        matches!(named.as_slice(), ["time", "tag", "value"] | ["time", "tag", "value", "quality"]),
        "its first line is {:?}; write time,tag,value or time,tag,value,quality",
        named.join(",")
    );
    Ok(Box::new(reader.into_records().map(|record| {
        let record = record?;
        let field = |at: usize| record.get(at).unwrap_or_default().to_owned();
        Ok(Row {
            place: record.position().map_or(0, csv::Position::line),
            time: field(0),
            tag: field(1),
            value: field(2),
            quality: record.get(3).map(str::to_owned),
        })
    })))
}

//! Who reads the files without this crate, by the rules of `FORMAT.md`, while hours are sealed and days joined: whole
//! files, and each reading once.

use std::collections::BTreeSet;
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use arrow::array::AsArray;
use arrow::datatypes::TimestampMicrosecondType;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use reading::Span;
use rusqlite::{Connection, OpenFlags};

use super::fixture::{DAY, MONDAY, files, open, open_on, span};
use crate::disk::Disk;

/// Tag and time.
type Keys = BTreeSet<(String, i64)>;

/// What a segment says: its rows' keys, and the segments it was joined of.
struct Segment {
    keys: Vec<(String, i64)>,
    joins: Vec<String>,
}

/// Reads a segment; `None` if it has gone meanwhile. A file that is not whole fails the test.
fn read(path: &Path) -> Option<Segment> {
    let file = match File::open(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return None,
        file => file.unwrap(),
    };
    let builder = ParquetRecordBatchReaderBuilder::try_new(file).unwrap();
    let notes = builder.metadata().file_metadata().key_value_metadata().unwrap();
    let joins = notes.iter().find(|note| note.key == "joins").and_then(|note| note.value.clone()).unwrap_or_default();
    let joins = joins.split(',').map(str::to_owned).collect();
    let mut keys = Vec::new();
    for batch in builder.build().unwrap().map(Result::unwrap) {
        let times = batch.column(0).as_primitive::<TimestampMicrosecondType>();
        let tags = batch.column(1).as_string::<i32>();
        keys.extend(tags.iter().zip(times.values()).map(|(tag, time)| (tag.unwrap().to_owned(), *time)));
    }
    Some(Segment { keys, joins })
}

fn insert_once(seen: &mut Keys, keys: impl IntoIterator<Item = (String, i64)>) {
    keys.into_iter().for_each(|key| assert!(seen.insert(key), "a reading was seen twice"));
}

/// Everything, by one snapshot of the database; `None` if it has to be begun again.
fn by_catalogue(folder: &Path) -> Option<Keys> {
    let mut database = Connection::open_with_flags(folder.join("hot.db"), OpenFlags::SQLITE_OPEN_READ_ONLY).unwrap();
    let snapshot = database.transaction().unwrap();
    let mut hot = snapshot.prepare("SELECT name, time FROM reading JOIN tag ON tag.id = reading.tag").unwrap();
    let mut seen = Keys::new();
    insert_once(&mut seen, hot.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap().map(Result::unwrap));
    let mut listed = snapshot.prepare("SELECT path FROM segment").unwrap();
    let paths: Vec<String> = listed.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
    for path in paths {
        insert_once(&mut seen, read(&folder.join(path))?.keys);
    }
    Some(seen)
}

/// What is sealed, by the folders alone; `None` if it has to be begun again.
fn by_folders(folder: &Path) -> Option<Keys> {
    let hidden = |path: &str| path.rsplit('/').next().is_some_and(|name| name.starts_with('.'));
    let listed: Vec<String> = files(folder).into_iter().filter(|path| !hidden(path)).collect();
    let mut segments = Vec::new();
    for path in listed {
        segments.push((PathBuf::from(&path), read(&folder.join(path))?));
    }
    let joined: BTreeSet<String> = segments.iter().flat_map(|(_, segment)| segment.joins.clone()).collect();
    let mut seen = Keys::new();
    for (path, segment) in segments {
        if !joined.contains(path.file_stem().unwrap().to_str().unwrap()) {
            insert_once(&mut seen, segment.keys);
        }
    }
    Some(seen)
}

/// Somebody who looks again and again.
struct Reader {
    folder: PathBuf,
    everything: Keys,
    /// What the folders showed last time.
    sealed: Keys,
    looks: usize,
}

impl Reader {
    fn look(&mut self) {
        let seen = by_catalogue(&self.folder).expect("nothing goes while we look");
        assert!(seen == self.everything, "a gap: {} of {} readings", seen.len(), self.everything.len());
        let sealed = by_folders(&self.folder).expect("nothing goes while we look");
        assert!(sealed.is_superset(&self.sealed), "a gap: what was sealed is gone");
        self.sealed = sealed;
        self.looks += 1;
    }
}

#[test]
fn who_reads_from_outside_sees_whole_files_and_each_reading_once() {
    let folder = tempfile::tempdir().unwrap();
    let readings = span(MONDAY, MONDAY + DAY + DAY);
    open(folder.path()).commit(&readings, &[]).unwrap();
    let everything = by_catalogue(folder.path()).unwrap();
    assert_eq!(everything.len(), readings.len());
    let reader = Reader { folder: folder.path().to_owned(), everything, sealed: Keys::new(), looks: 0 };
    let reader = Arc::new(Mutex::new(reader));
    // Before each file operation of the one who seals, the reader has a look.
    let looking = reader.clone();
    let store = open_on(
        Disk::asking(move |_| {
            looking.lock().unwrap().look();
            Ok(())
        }),
        folder.path(),
    );
    let mut joined = 0;
    for hour in (6..=48).step_by(6) {
        joined += store.seal_until(MONDAY + Span::minutes(60 * hour)).unwrap().joined_days;
    }
    assert_eq!(joined, 4, "two days of two lines");
    let mut reader = reader.lock().unwrap();
    reader.look();
    assert_eq!(reader.sealed, reader.everything, "in the end all is sealed");
    assert!(reader.looks > 100, "{}", reader.looks);
}

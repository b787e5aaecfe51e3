//! Hours that are over become files, days that are over become one file, and nothing changes for
//! those who read.

use std::fs::{self, File};

use arrow::array::AsArray;
use arrow::datatypes::{DataType, Float64Type, TimeUnit, TimestampMicrosecondType};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use reading::{LineIndex, Span, Timestamp};

use super::fixture::{
    DAY, DEW, HOUR, MONDAY, PRODUCT, SPEED, all, files, number, open, open_on, plant, product, signals, span,
};
use crate::disk::{Disk, Operation};
use crate::{SEAL_AFTER, Sealed, Store};

#[test]
fn only_hours_that_were_over_long_enough_are_sealed() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let readings = span(MONDAY, MONDAY + HOUR + HOUR);
    store.commit(&readings, &[]).unwrap();
    assert_eq!(store.seal(MONDAY + HOUR + SEAL_AFTER - Span::seconds(1)).unwrap(), Sealed::default());
    let sealed = store.seal(MONDAY + HOUR + SEAL_AFTER).unwrap();
    assert_eq!(sealed, Sealed { segments: 2, readings: readings.len() / 2, joined_days: 0 });
    let size = store.size().unwrap();
    assert_eq!((size.hot_readings, size.sealed_readings), (readings.len() as u64 / 2, readings.len() as u64 / 2));
    assert_eq!(
        files(folder.path()),
        [
            "readings/site=millbrook/line=tunnel-1/date=2026-11-02/00000001.parquet",
            "readings/site=millbrook/line=tunnel-2/date=2026-11-02/00000002.parquet"
        ]
    );
    assert_eq!(all(&store), readings);
    assert_eq!(all(&open(folder.path())), readings);
}

#[test]
fn a_day_that_is_over_becomes_one_file_a_line() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let readings = span(MONDAY, MONDAY + DAY + HOUR);
    for hour in 0..25 {
        let from = MONDAY + Span::minutes(60 * hour);
        store.commit(&span(from, from + HOUR), &[]).unwrap();
        assert_eq!(store.seal(from + SEAL_AFTER).unwrap().joined_days, if hour == 24 { 2 } else { 0 });
        assert_eq!(all(&store), readings[..readings.len() * (hour as usize + 1) / 25]);
    }
    store.seal(MONDAY + DAY + HOUR + SEAL_AFTER).unwrap();
    assert_eq!(files(folder.path()).len(), 4, "{:?}", files(folder.path()));
    assert_eq!(store.size().unwrap().hot_readings, 0);
    assert_eq!(all(&store), readings);
    assert!(store.verify().unwrap().is_empty());
}

#[test]
fn tags_of_many_readings_lie_in_row_groups_of_their_own_and_are_found_there() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let seconds = |seconds| MONDAY + Span::seconds(seconds);
    let at = |second: i64| {
        let value = (second % 900) as f64 / 10.0;
        [number(SPEED, seconds(second), value), number(DEW, seconds(second), -value)]
    };
    let readings: Vec<_> = (0..60_000).flat_map(at).collect();
    store.load(&readings).unwrap();
    store.seal_until(MONDAY + DAY).unwrap();

    let file = File::open(folder.path().join(&files(folder.path())[0])).unwrap();
    let groups = ParquetRecordBatchReaderBuilder::try_new(file).unwrap().metadata().num_row_groups();
    assert_eq!(groups, 2);
    assert_eq!(all(&store), readings);
    let part = store.readings(Some(LineIndex(0)), seconds(50_001), seconds(59_000));
    assert_eq!(part.flat_map(Result::unwrap).collect::<Vec<_>>(), readings[2 * 50_001..2 * 59_000]);
    assert!(store.verify().unwrap().is_empty());
}

#[test]
fn a_late_reading_finds_its_place_and_one_already_sealed_is_no_news() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let mut readings = span(MONDAY, MONDAY + HOUR);
    store.commit(&readings, &[]).unwrap();
    store.seal(MONDAY + HOUR + SEAL_AFTER).unwrap();

    let again = store.commit(&readings, &[]).unwrap();
    assert_eq!((again.stored, again.already_there), (0, readings.len()));
    let late = number(SPEED, MONDAY + Span::seconds(90), 1.5);
    assert_eq!(store.commit(&[late.clone(), readings[0].clone()], &[]).unwrap().new, [true, false]);
    readings.push(late.clone());
    readings.sort_by_key(|reading| (reading.time, reading.signal));
    assert_eq!(all(&store), readings);

    assert_eq!(store.seal(MONDAY + HOUR + SEAL_AFTER).unwrap().readings, 1);
    assert_eq!(all(&store), readings);
    assert_eq!(open(folder.path()).commit(&[late], &[]).unwrap().stored, 0);
}

#[test]
fn a_few_late_readings_do_not_rewrite_a_day() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let now = MONDAY + DAY + SEAL_AFTER;
    store.commit(&span(MONDAY, MONDAY + DAY), &[]).unwrap();
    assert_eq!(store.seal(now).unwrap().joined_days, 0);
    for late in 1..8 {
        store.commit(&[number(SPEED, MONDAY + Span::seconds(late), 1.0)], &[]).unwrap();
        assert_eq!(store.seal(now).unwrap(), Sealed { segments: 1, readings: 1, joined_days: 0 });
    }
    store.commit(&[number(SPEED, MONDAY + Span::seconds(8), 1.0)], &[]).unwrap();
    assert_eq!(store.seal(now).unwrap().joined_days, 1, "nine files are too many");
    assert_eq!(files(folder.path()).len(), 2);
    assert_eq!(all(&store).len(), span(MONDAY, MONDAY + DAY).len() + 8);
}

#[test]
fn a_reading_that_comes_while_its_hour_is_being_sealed_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let late = number(SPEED, MONDAY + Span::seconds(90), 1.5);
    // The file is written and is about to be made safe: a reading comes from elsewhere.
    let (other, arriving) = (open(folder.path()), late.clone());
    let disk = Disk::asking(move |operation| {
        if operation == Operation::Sync {
            other.commit(std::slice::from_ref(&arriving), &[]).unwrap();
        }
        Ok(())
    });
    let store = open_on(disk, folder.path());
    let mut readings = span(MONDAY, MONDAY + HOUR);
    store.commit(&readings, &[]).unwrap();
    assert_eq!(store.seal_until(MONDAY + HOUR).unwrap().readings, readings.len() + 1);
    readings.push(late);
    readings.sort_by_key(|reading| (reading.time, reading.signal));
    assert_eq!(all(&store), readings);
}

#[test]
fn history_loaded_twice_is_stored_once() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let history = span(MONDAY, MONDAY + Span::minutes(60 * 24 * 3));
    assert_eq!(store.load(&history).unwrap().stored, history.len());
    store.seal(MONDAY + Span::minutes(60 * 24 * 11)).unwrap();
    assert_eq!(store.size().unwrap().segments, 6);
    let again = open(folder.path()).load(&history).unwrap();
    assert_eq!((again.stored, again.already_there, again.new.len()), (0, history.len(), history.len()));
    assert_eq!(all(&store), history);
}

#[test]
fn the_product_in_force_is_found_days_back_in_sealed_readings() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let late = Span::minutes(60 * 24 * 5);
    store.commit(&[product(MONDAY, "T800"), product(MONDAY + HOUR, "B400")], &[]).unwrap();
    store.commit(&[number(DEW, MONDAY + late, 80.0), product(MONDAY + late, "T800")], &[]).unwrap();
    store.seal(MONDAY + late + HOUR).unwrap();
    store.commit(&[product(MONDAY + Span::minutes(30), "late")], &[]).unwrap();
    let before = |time| store.last_text_before(PRODUCT, time).unwrap().map(|(time, text)| (time, text.to_string()));
    assert_eq!(before(MONDAY), None);
    assert_eq!(before(MONDAY + HOUR), Some((MONDAY + Span::minutes(30), "late".into())));
    assert_eq!(before(MONDAY + late), Some((MONDAY + HOUR, "B400".into())));
    assert_eq!(before(MONDAY + late + HOUR), Some((MONDAY + late, "T800".into())));
}

#[test]
fn a_changed_config_reads_sealed_readings_of_a_signal_that_moved_to_another_line() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.commit(&span(MONDAY, MONDAY + DAY), &[]).unwrap();
    store.seal(MONDAY + DAY + DAY).unwrap();
    let stored = store.series(LineIndex(0), MONDAY, MONDAY + DAY).unwrap();

    let mut changed = signals();
    changed.reverse();
    changed[1].line = LineIndex(1);
    let reopened = Store::open(folder.path(), &plant(changed)).unwrap();
    let second = reopened.series(LineIndex(1), MONDAY, MONDAY + DAY).unwrap();
    let dew = |series: &reading::LineSeries, id| {
        series.numbers.iter().find(|series| series.signal == id).unwrap().value.clone()
    };
    assert_eq!(dew(&second, reading::SignalId(1)), dew(&stored, DEW));
    reopened.commit(&[number(reading::SignalId(1), MONDAY + Span::seconds(1), 5.0)], &[]).unwrap();
    reopened.seal(MONDAY + DAY + DAY).unwrap();
    assert_eq!(all(&reopened).len(), span(MONDAY, MONDAY + DAY).len() + 1);
}

#[test]
fn a_segment_is_a_plain_parquet_file_in_order_of_tag_and_time() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.commit(&span(MONDAY, MONDAY + DAY), &[]).unwrap();
    store.seal(MONDAY + DAY + DAY).unwrap();
    let file = File::open(folder.path().join(&files(folder.path())[0])).unwrap();
    let reader = ParquetRecordBatchReaderBuilder::try_new(file).unwrap();
    let fields: Vec<_> =
        reader.schema().fields().iter().map(|field| (field.name().as_str(), field.data_type().clone())).collect();
    assert_eq!(
        fields,
        [
            ("time", DataType::Timestamp(TimeUnit::Microsecond, Some("UTC".into()))),
            ("tag", DataType::Utf8),
            ("value", DataType::Float64),
            ("text", DataType::Utf8),
            ("quality", DataType::UInt8),
        ]
    );
    let notes = reader.metadata().file_metadata().key_value_metadata().unwrap();
    let note = |key: &str| notes.iter().find(|note| note.key == key).and_then(|note| note.value.clone()).unwrap();
    assert_eq!(
        (note("site"), note("line"), note("date")),
        ("millbrook".into(), "tunnel-1".into(), "2026-11-02".into())
    );
    let mut keys = Vec::new();
    let mut sum = 0.0;
    for batch in reader.build().unwrap() {
        let batch = batch.unwrap();
        let times = batch.column(0).as_primitive::<TimestampMicrosecondType>();
        let tags = batch.column(1).as_string::<i32>();
        keys.extend(tags.iter().zip(times.values()).map(|(tag, time)| (tag.unwrap().to_owned(), *time)));
        sum += batch.column(2).as_primitive::<Float64Type>().iter().flatten().sum::<f64>();
    }
    assert!(keys.is_sorted_by(|earlier, later| earlier < later));
    assert_eq!(keys.len(), 24 * 60 * 2 + 24);
    let stored = store.series(LineIndex(0), MONDAY, MONDAY + DAY).unwrap();
    assert!((sum - stored.numbers.iter().flat_map(|series| &series.value).sum::<f64>()).abs() < 1e-6);
}

#[test]
fn a_file_that_is_gone_is_named_and_can_be_loaded_again() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let history = span(MONDAY, MONDAY + DAY);
    store.commit(&history, &[]).unwrap();
    store.seal(MONDAY + DAY + DAY).unwrap();
    let gone = folder.path().join(&files(folder.path())[0]);
    fs::remove_file(&gone).unwrap();
    let error = store.series(LineIndex(0), MONDAY, MONDAY + DAY).unwrap_err();
    assert_eq!(error.file(), gone);
    assert_eq!(store.verify().unwrap()[0].file, gone);

    let reopened = open(folder.path());
    assert!(reopened.series(LineIndex(0), MONDAY, MONDAY + DAY).unwrap().is_empty());
    assert_eq!(reopened.load(&history).unwrap().stored, 24 * 60 * 2 + 24);
    assert_eq!(all(&reopened), history);
    // The handle that was open all along follows.
    assert_eq!(store.load(&history).unwrap().stored, 0);
}

#[test]
fn a_damaged_file_is_found_by_verifying() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.commit(&span(MONDAY, MONDAY + DAY), &[]).unwrap();
    store.seal(MONDAY + DAY + DAY).unwrap();
    let path = folder.path().join(&files(folder.path())[0]);
    let whole = fs::read(&path).unwrap();
    // Any single byte, also one that a reader would pass over, such as one of the program's name in the footer.
    let name = whole.windows(8).rposition(|bytes| bytes == b"ovenward").unwrap();
    for place in [4, whole.len() / 2, name] {
        let mut bytes = whole.clone();
        bytes[place] ^= 1;
        fs::write(&path, &bytes).unwrap();
        let wrong = store.verify().unwrap();
        assert_eq!((wrong.len(), &wrong[0].file, wrong[0].repaired), (1, &path, false));
        assert!(wrong[0].what.contains("checksum differs"), "{}", wrong[0].what);
    }
    fs::write(&path, &whole[..whole.len() - 1]).unwrap();
    assert!(store.verify().unwrap()[0].what.contains("bytes and was written with"));
    fs::write(&path, &whole).unwrap();
    assert!(store.verify().unwrap().is_empty());
}

#[test]
fn a_segment_without_a_checksum_gets_one_by_verifying() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    store.commit(&span(MONDAY, MONDAY + DAY), &[]).unwrap();
    store.seal(MONDAY + DAY + DAY).unwrap();
    let database = rusqlite::Connection::open(folder.path().join("hot.db")).unwrap();
    let checksums = || -> Vec<Option<i64>> {
        let mut select = database.prepare("SELECT checksum FROM segment ORDER BY id").unwrap();
        select.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
    };
    let written = checksums();
    assert!(written.iter().all(Option::is_some));
    database.execute("UPDATE segment SET checksum = NULL", []).unwrap();
    assert!(store.verify().unwrap().is_empty());
    assert_eq!(checksums(), written);
}

#[test]
fn files_outlive_the_database_and_are_listed_again() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let history = span(MONDAY, MONDAY + DAY + HOUR);
    store.commit(&history, &[]).unwrap();
    store.seal(MONDAY + DAY + DAY).unwrap();
    // A late reading within the hours of another segment: its file can't simply be listed.
    store.commit(&[number(SPEED, MONDAY + Span::seconds(1), 1.0)], &[]).unwrap();
    store.seal(MONDAY + DAY + DAY).unwrap();
    let kept = all(&store);
    drop(store);
    for name in ["hot.db", "hot.db-wal", "hot.db-shm"] {
        fs::remove_file(folder.path().join(name)).ok();
    }
    let stranger = folder.path().join("readings/site=millbrook/line=tunnel-1/stranger.parquet");
    fs::write(&stranger, "not Parquet").unwrap();

    let store = open(folder.path());
    assert_eq!(all(&store), kept);
    assert_eq!(store.load(&history).unwrap().stored, 0);
    assert!(stranger.exists());
    store.commit(&[number(SPEED, MONDAY + Span::seconds(2), 1.0)], &[]).unwrap();
    store.seal(MONDAY + DAY + DAY).unwrap();
    assert_eq!(all(&store).len(), kept.len() + 1);
    assert_eq!(store.span().unwrap(), Some((MONDAY, Timestamp(MONDAY.0 + DAY.0 + HOUR.0 - 60_000_000))));
}

#[test]
fn old_days_are_dropped_whole_and_the_rest_stays() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let readings = span(MONDAY, MONDAY + DAY + HOUR);
    store.commit(&readings, &[]).unwrap();
    store.seal_until(MONDAY + DAY + HOUR).unwrap();
    let first_day = span(MONDAY, MONDAY + DAY);
    assert_eq!(store.drop_before(MONDAY + DAY - Span::seconds(1)).unwrap(), 0);
    assert_eq!(all(&store), readings);
    assert_eq!(store.commit(&first_day, &[]).unwrap().stored, 0);
    assert_eq!(store.drop_before(MONDAY + DAY + HOUR).unwrap(), first_day.len());
    assert_eq!(all(&store), span(MONDAY + DAY, MONDAY + DAY + HOUR));
    assert!(files(folder.path()).iter().all(|path| path.contains("2026-11-03")));
    assert_eq!(store.commit(&first_day[..1], &[]).unwrap().stored, 1, "what was dropped is new again");
}

#[test]
fn above_a_size_the_oldest_days_are_dropped_and_the_newest_stays() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let readings = span(MONDAY, MONDAY + DAY + DAY + DAY);
    store.commit(&readings, &[]).unwrap();
    store.seal_until(MONDAY + DAY + DAY + DAY).unwrap();
    let size = store.size().unwrap();
    assert_eq!(store.drop_above(size.hot_bytes + size.sealed_bytes).unwrap(), 0);
    assert_eq!(store.drop_above(store.hot_bytes() + size.sealed_bytes - 1).unwrap(), readings.len() / 3);
    assert_eq!(all(&store), span(MONDAY + DAY, MONDAY + DAY + DAY + DAY));
    assert_eq!(store.drop_above(0).unwrap(), readings.len() / 3);
    assert_eq!(all(&store), span(MONDAY + DAY + DAY, MONDAY + DAY + DAY + DAY));
    assert_eq!(files(folder.path()).len(), 2);
}

#[test]
fn what_is_not_sealed_is_never_dropped() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(folder.path());
    let readings = span(MONDAY, MONDAY + HOUR);
    store.commit(&readings, &[]).unwrap();
    assert_eq!(store.drop_before(MONDAY + DAY + DAY).unwrap(), 0);
    assert_eq!(store.drop_above(0).unwrap(), 0);
    assert_eq!(all(&store), readings);
}

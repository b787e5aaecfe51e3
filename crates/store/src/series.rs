//! Readings on their way out, signal by signal: for tables, which have no use for one order of all.

use std::collections::BTreeMap;
use std::ops::Range;

use reading::{LineIndex, LineSeries, NumberSeries, Quality, Reading, SignalId, Timestamp, Value};
use rusqlite::params;

use crate::Store;
use crate::error::StoreError;
use crate::readings::value_of;
use crate::segment::read::Run;
use crate::segment::{Row, catalogue};

impl Store {
    /// The readings of one line with `from <= time < to`, all at once and signal by signal: some 17 bytes each, and
    /// many times faster than [`readings`](Self::readings).
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn series(&self, line: LineIndex, from: Timestamp, to: Timestamp) -> Result<LineSeries, StoreError> {
        let times = from.0..to.0;
        let tags = self.inner.tags.of_line(Some(line));
        self.inner.database.read("read readings", |snapshot| {
            let mut gathered = Gathered::default();
            for part in catalogue::overlapping(snapshot, &tags, &times)? {
                self.inner.segments.read_runs(&part, &times, |tag, run| {
                    if let Some(signal) = self.inner.tags.signal(tag) {
                        gathered.take_run(signal, &run);
                    }
                })?;
            }
            let mut select = snapshot.prepare_cached(
                "SELECT time, number, text, quality FROM reading WHERE tag = ?1 AND time >= ?2 AND time < ?3",
            )?;
            for &tag in &tags {
                let Some(signal) = self.inner.tags.signal(tag) else { continue };
                let Range { start, end } = times;
                let mut rows = select.query(params![tag, start, end])?;
                while let Some(row) = rows.next()? {
                    gathered.take(signal, Row { time: row.get(0)?, value: value_of(row)?, quality: row.get(3)? });
                }
            }
            Ok(gathered.in_order())
        })
    }
}

/// What has been read so far; a signal's readings lie in several segments and the hot ones.
#[derive(Default)]
struct Gathered {
    numbers: BTreeMap<SignalId, NumberSeries>,
    texts: Vec<Reading>,
}

impl Gathered {
    fn take_run(&mut self, signal: SignalId, run: &Run) {
        if let Some(numbers) = run.numbers() {
            let series = self.series(signal);
            series.time_us.extend_from_slice(run.times());
            series.value.extend_from_slice(numbers);
            series.quality.extend_from_slice(run.qualities());
        } else {
            let mut text = None;
            (0..run.times().len()).for_each(|index| self.take(signal, run.row(index, &mut text)));
        }
    }

    fn take(&mut self, signal: SignalId, row: Row) {
        let (time, quality) = (Timestamp(row.time), Quality::from_code(row.quality));
        match row.value {
            Value::Number(number) => self.series(signal).push(time, number, quality),
            Value::Text(_) => self.texts.push(Reading { signal, time, value: row.value, quality }),
        }
    }

    fn series(&mut self, signal: SignalId) -> &mut NumberSeries {
        self.numbers.entry(signal).or_insert_with(|| NumberSeries::new(signal))
    }

    fn in_order(mut self) -> LineSeries {
        self.texts.sort_by_key(|reading| (reading.time, reading.signal));
        LineSeries { numbers: self.numbers.into_values().map(sorted).collect(), texts: self.texts }
    }
}

/// Late readings lie in segments of their own, so that what was gathered need not be in order.
fn sorted(series: NumberSeries) -> NumberSeries {
    if series.time_us.is_sorted() {
        return series;
    }
    let mut order: Vec<usize> = (0..series.len()).collect();
    order.sort_by_key(|&index| series.time_us[index]);
    NumberSeries {
        signal: series.signal,
        time_us: order.iter().map(|&index| series.time_us[index]).collect(),
        value: order.iter().map(|&index| series.value[index]).collect(),
        quality: order.iter().map(|&index| series.quality[index]).collect(),
    }
}

//! Any order of storing, sealing and opening again, against the plainest store there is: a map.

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;
use reading::{LineIndex, LineSeries, Reading, SignalId, Span, Timestamp, Value};

use super::fixture::{Faults, MONDAY, PRODUCT, SECOND_SPEED, all, number, open_on, product};
use crate::{Store, StoreError};

#[derive(Debug, Clone)]
enum Act {
    /// Store a reading of each of these signals at these half hours.
    Commit(Vec<(u32, i64)>),
    /// Seal as of this half hour.
    Seal(i64),
    Reopen,
    /// Drop what was over at this half hour, once everything before it is sealed.
    Drop(i64),
    /// Let a file operation of the next act fail, and perhaps all after it.
    Fail(usize, bool),
}

/// Half hours of three days.
const SPAN: std::ops::Range<i64> = 0..144;

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        4 => prop::collection::vec((0..4_u32, SPAN), 1..60).prop_map(Act::Commit),
        3 => (0..160_i64).prop_map(Act::Seal),
        1 => Just(Act::Reopen),
        1 => (0..160_i64).prop_map(Act::Drop),
        3 => (0..40_usize, any::<bool>()).prop_map(|(operation, lasting)| Act::Fail(operation, lasting)),
    ]
}

fn at(half_hour: i64) -> Timestamp {
    MONDAY + Span::minutes(30 * half_hour)
}

/// The value tells which act stored it: a reading that comes again must not replace the first.
fn reading(signal: u32, half_hour: i64, act: usize) -> Reading {
    if signal == PRODUCT.0 {
        product(at(half_hour), &format!("T{act}"))
    } else {
        number(SignalId(signal), at(half_hour), act as f64)
    }
}

type Model = BTreeMap<(Timestamp, SignalId), Reading>;

fn check(store: &Store, model: &Model, from: i64, to: i64) {
    assert_eq!(all(store), model.values().cloned().collect::<Vec<_>>());
    let (from, to) = (at(from.min(to)), at(from.max(to)));
    let of_first_line = |reading: &&Reading| reading.signal != SECOND_SPEED;
    let before = || model.values().filter(|reading| reading.time < to).filter(of_first_line);
    let series: LineSeries = before().filter(|reading| reading.time >= from).cloned().collect();
    assert_eq!(store.series(LineIndex(0), from, to).unwrap(), series);
    let mut texts = before().filter_map(|reading| match &reading.value {
        Value::Text(code) => Some((reading.time, code.clone())),
        Value::Number(_) => None,
    });
    let text = texts.next_back();
    assert_eq!(store.last_text_before(PRODUCT, to).unwrap(), text);
    let ends = |model: &Model| Some((model.first_key_value()?.0.0, model.last_key_value()?.0.0));
    assert_eq!(store.span().unwrap(), ends(model));
}

/// What an act gives that may fail; after a failure the store is as before, and the act succeeds when it is repeated.
fn made_good<T>(faults: &Faults, store: &Store, model: &Model, act: impl Fn() -> Result<T, StoreError>) -> T {
    act().unwrap_or_else(|_| {
        faults.end();
        assert_eq!(all(store), model.values().cloned().collect::<Vec<_>>());
        act().unwrap()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20))]
    #[test]
    fn the_store_is_a_map_from_time_and_signal(
        acts in prop::collection::vec(act(), 1..14), from in SPAN, to in SPAN
    ) {
        let folder = tempfile::tempdir().unwrap();
        let faults = Faults::default();
        let mut store = open_on(faults.disk(), folder.path());
        let mut model = Model::new();
        for (number, act) in acts.iter().enumerate() {
            match act {
                Act::Commit(keys) => {
                    let readings: Vec<Reading> =
                        keys.iter().map(|(signal, half_hour)| reading(*signal, *half_hour, number)).collect();
                    let mut seen = BTreeSet::new();
                    let new: Vec<bool> = readings
                        .iter()
                        .map(|reading| {
                            let key = (reading.time, reading.signal);
                            !model.contains_key(&key) && seen.insert(key)
                        })
                        .collect();
                    let committed = made_good(&faults, &store, &model, || store.commit(&readings, &[]));
                    prop_assert_eq!(committed.new, new);
                    for reading in readings {
                        model.entry((reading.time, reading.signal)).or_insert(reading);
                    }
                }
                Act::Seal(half_hour) => {
                    made_good(&faults, &store, &model, || store.seal(at(*half_hour)));
                }
                Act::Reopen => {
                    drop(store);
                    // What fails now is put off to the next sealing.
                    store = open_on(faults.disk(), folder.path());
                    faults.end();
                }
                Act::Drop(half_hour) => {
                    let day = at(*half_hour).floor(Span::minutes(24 * 60));
                    made_good(&faults, &store, &model, || store.seal_until(day));
                    model.retain(|(time, _), _| *time >= day);
                    if store.drop_before(day).is_err() {
                        faults.end();
                        assert_eq!(all(&store), model.values().cloned().collect::<Vec<_>>());
                        // What is left of it may have to be sealed anew before it goes.
                        store.seal_until(day).unwrap();
                        store.drop_before(day).unwrap();
                    }
                }
                Act::Fail(operation, lasting) => {
                    faults.fail_after(*operation, *lasting);
                    continue;
                }
            }
            faults.end();
            check(&store, &model, from, to);
        }
        faults.end();
        prop_assert!(store.verify().unwrap().is_empty());
        prop_assert_eq!(store.size().unwrap().sealed_readings + store.size().unwrap().hot_readings, model.len() as u64);
    }
}

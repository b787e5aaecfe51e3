//! Any order of storing, sealing and opening again, against the plainest store there is: a map.

use std::collections::BTreeMap;
use std::sync::Arc;

use proptest::prelude::*;
use reading::{LineIndex, NumberColumns, Reading, SignalId, Span, Timestamp, Value};

use super::fixture::{MONDAY, PRODUCT, all, number, open, product};
use crate::Store;

#[derive(Debug, Clone)]
enum Act {
    /// Store a reading of each of these signals at these half hours.
    Commit(Vec<(u32, i64)>),
    /// Seal as of this half hour.
    Seal(i64),
    Reopen,
}

/// Half hours of three days.
const SPAN: std::ops::Range<i64> = 0..144;

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        4 => prop::collection::vec((0..4_u32, SPAN), 1..60).prop_map(Act::Commit),
        3 => (0..160_i64).prop_map(Act::Seal),
        1 => Just(Act::Reopen),
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
    let mut numbers = NumberColumns::default();
    let mut text: Option<(Timestamp, Arc<str>)> = None;
    for reading in model.values() {
        match &reading.value {
            Value::Number(value) if reading.signal.0 < 3 && reading.time >= from && reading.time < to => {
                numbers.push(reading.signal, reading.time, *value, reading.quality.code());
            }
            Value::Text(code) if reading.time < to => text = Some((reading.time, code.clone())),
            _ => {}
        }
    }
    assert_eq!(store.numbers(LineIndex(0), from, to).unwrap(), numbers);
    assert_eq!(store.last_text_before(PRODUCT, to).unwrap(), text);
    let ends = |model: &Model| Some((model.first_key_value()?.0.0, model.last_key_value()?.0.0));
    assert_eq!(store.span().unwrap(), ends(model));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20))]
    #[test]
    fn the_store_is_a_map_from_time_and_signal(
        acts in prop::collection::vec(act(), 1..10), from in SPAN, to in SPAN
    ) {
        let folder = tempfile::tempdir().unwrap();
        let mut store = open(folder.path());
        let mut model = Model::new();
        for (number, act) in acts.iter().enumerate() {
            match act {
                Act::Commit(keys) => {
                    let readings: Vec<Reading> =
                        keys.iter().map(|(signal, half_hour)| reading(*signal, *half_hour, number)).collect();
                    let new: Vec<bool> = readings
                        .iter()
                        .map(|reading| {
                            let key = (reading.time, reading.signal);
                            let new = !model.contains_key(&key);
                            model.entry(key).or_insert_with(|| reading.clone());
                            new
                        })
                        .collect();
                    prop_assert_eq!(store.commit(&readings, &[]).unwrap().new, new);
                }
                Act::Seal(half_hour) => _ = store.seal(at(*half_hour)).unwrap(),
                Act::Reopen => {
                    drop(store);
                    store = open(folder.path());
                }
            }
            check(&store, &model, from, to);
        }
        prop_assert!(store.verify().unwrap().is_empty());
        prop_assert_eq!(store.size().unwrap().sealed_readings + store.size().unwrap().hot_readings, model.len() as u64);
    }
}

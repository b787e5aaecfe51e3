#![allow(clippy::unwrap_used)]
use proptest::prelude::*;
use prost::Message;
use reading::{LineIndex, Quality, Quantity, Signal, SignalId, Value};

use super::*;
use crate::wire::{Metric, Payload, Value as Wire};

/// Ms since 1970 at which every test begins.
const BEGAN: u64 = 1_800_000_000_000;
const PATIENCE: Span = Span::seconds(2);
const DEW: SignalId = SignalId(0);
const PRODUCT: SignalId = SignalId(1);
const SPEED: SignalId = SignalId(2);

/// Two metrics of a device, one of its node.
fn signals() -> SignalMap {
    let of = |source: &str, metric: &str, zone, quantity| Signal {
        tag: format!("{source}#{metric}").into(),
        payload: PayloadFormat::Sparkplug { metric: metric.into() },
        min: Some(-10.0),
        max: Some(100.0),
        ..Signal::of_topic(source, LineIndex(0), zone, quantity)
    };
    SignalMap::new(vec![
        of("Mill/gate/oven", "Zone 1/Dew point", Some(1), Quantity::DewPoint),
        of("Mill/gate/oven", "Product", None, Quantity::Product),
        of("Mill/gate", "Band", None, Quantity::BandSpeed),
    ])
}

fn nodes() -> Nodes {
    Nodes::new(&signals(), PATIENCE)
}

fn at(second: u64) -> Timestamp {
    Timestamp((BEGAN + second * 1000) as i64 * 1000)
}

fn metric(name: &str, alias: u64, datatype: u32, value: Wire) -> Metric {
    Metric {
        name: (!name.is_empty()).then(|| name.into()),
        alias: (alias > 0).then_some(alias),
        datatype: (datatype > 0).then_some(datatype),
        value: Some(value),
        ..Metric::default()
    }
}

fn bd_seq(number: u64) -> Metric {
    metric("bdSeq", 0, 4, Wire::Long(number))
}

/// A plant that speaks: every message is sent at a second of its own.
struct Plant {
    nodes: Nodes,
    second: u64,
}

type Told = Vec<(SignalId, Timestamp, Value, Quality)>;

impl Plant {
    fn new() -> Self {
        Self { nodes: nodes(), second: 0 }
    }

    /// Born: node with alias 1 for its band, device with 2 for dew point and 3 for product.
    fn born() -> Self {
        let mut plant = Self::new();
        plant.say("NBIRTH/gate", 0, vec![bd_seq(7), metric("Band", 1, 10, Wire::Double(1.2))]);
        plant.device_birth(1, 2, 3);
        plant
    }

    fn device_birth(&mut self, seq: u64, dew: u64, product: u64) -> Vec<Result<Reading, Rejection>> {
        let dew = metric("Zone 1/Dew point", dew, 9, Wire::Float(72.4));
        let product = metric("Product", product, 12, Wire::Text("T800".into()));
        self.say("DBIRTH/gate/oven", seq, vec![dew, product])
    }

    fn say(&mut self, on: &str, seq: u64, metrics: Vec<Metric>) -> Vec<Result<Reading, Rejection>> {
        self.second += 1;
        self.say_at(on, seq, metrics, self.second)
    }

    fn say_at(&mut self, on: &str, seq: u64, metrics: Vec<Metric>, second: u64) -> Vec<Result<Reading, Rejection>> {
        let payload = Payload { timestamp: Some(BEGAN + second * 1000), metrics, seq: Some(seq) }.encode_to_vec();
        self.nodes.receive(&signals(), &format!("spBv1.0/Mill/{on}"), &payload, at(self.second)).unwrap()
    }
}

fn told(results: Vec<Result<Reading, Rejection>>) -> Told {
    let told = |result: Result<Reading, Rejection>| {
        let Reading { signal, time, value, quality } = result.unwrap();
        (signal, time, value, quality)
    };
    results.into_iter().map(told).collect()
}

fn reasons(results: Vec<Result<Reading, Rejection>>) -> Vec<Reason> {
    results.into_iter().filter_map(Result::err).map(|rejection| rejection.reason).collect()
}

#[test]
fn a_birth_tells_values_and_names_what_comes_after_it() {
    let mut plant = Plant::new();
    plant.say("NBIRTH/gate", 0, vec![bd_seq(7)]);
    let born = told(plant.device_birth(1, 2, 3));
    assert_eq!(born[0], (DEW, at(2), Value::Number(72.4), Quality::Good));
    assert_eq!(born[1], (PRODUCT, at(2), Value::Text("T800".into()), Quality::Good));
    let data = told(plant.say("DDATA/gate/oven", 2, vec![metric("", 2, 0, Wire::Float(73.1))]));
    assert_eq!(data, [(DEW, at(3), Value::Number(73.1), Quality::Good)]);
    assert!(plant.nodes.unnamed().is_empty());
    assert_eq!(plant.nodes.to_be_asked().count(), 0);
}

#[test]
fn what_no_birth_names_is_rejected_once_and_its_node_is_to_be_asked() {
    let mut plant = Plant::new();
    assert_eq!(plant.nodes.to_be_asked().count(), 1, "nothing was ever heard of it");
    let metrics = || vec![metric("", 2, 0, Wire::Float(73.1)), metric("", 3, 0, Wire::Text("T800".into()))];
    assert_eq!(reasons(plant.say("DDATA/gate/oven", 9, metrics())), [Reason::NoBirth]);
    assert_eq!(plant.nodes.unnamed(), ["Mill/gate/oven"]);
    plant.say("NDEATH/gate", 0, vec![bd_seq(6)]);
    assert!(plant.nodes.unnamed().is_empty(), "who is gone wants no names");
    plant.say("NBIRTH/gate", 0, vec![bd_seq(7)]);
    plant.device_birth(1, 4, 5);
    assert!(plant.nodes.unnamed().is_empty());
    assert_eq!(reasons(plant.say("DDATA/gate/oven", 2, metrics())), [Reason::UnknownAlias]);
    assert_eq!(plant.nodes.to_be_asked().count(), 1);
}

#[test]
fn a_name_needs_no_birth() {
    let mut plant = Plant::new();
    let dew = metric("Zone 1/Dew point", 0, 9, Wire::Float(70.0));
    assert_eq!(told(plant.say("DDATA/gate/oven", 9, vec![dew]))[0].0, DEW);
    let integer = metric("Zone 1/Dew point", 0, 0, Wire::Int(70));
    assert_eq!(reasons(plant.say("DDATA/gate/oven", 10, vec![integer])), [Reason::Unreadable]);
}

#[test]
fn a_death_ends_what_the_node_and_its_devices_said_behind_the_last_word() {
    let mut plant = Plant::born();
    plant.say("DDATA/gate/oven", 2, vec![metric("", 2, 0, Wire::Float(73.1))]);
    let ended = told(plant.say("NDEATH/gate", 0, vec![bd_seq(7)]));
    let behind = at(3) + Span(1001);
    assert_eq!(
        ended,
        [
            (DEW, behind, Value::Number(0.0), Quality::Bad),
            (PRODUCT, behind, Value::Text("".into()), Quality::Bad),
            (SPEED, behind, Value::Number(0.0), Quality::Bad),
        ]
    );
    let late = plant.say("DDATA/gate/oven", 3, vec![metric("", 2, 0, Wire::Float(73.1))]);
    assert_eq!(reasons(late), [Reason::NoBirth], "the aliases died with it");
}

#[test]
fn the_death_of_a_session_long_replaced_ends_nothing() {
    let mut plant = Plant::born();
    assert_eq!(plant.say("NDEATH/gate", 0, vec![bd_seq(6)]), []);
    assert_eq!(told(plant.say("DDATA/gate/oven", 2, vec![metric("", 2, 0, Wire::Float(73.1))])).len(), 1);
}

#[test]
fn a_birth_tells_what_still_holds_however_old_it_is() {
    let mut plant = Plant::born();
    plant.say("NDEATH/gate", 0, vec![bd_seq(7)]);
    let old = Metric { timestamp: Some(BEGAN - 60_000), ..metric("Band", 1, 10, Wire::Double(1.2)) };
    let born = told(plant.say("NBIRTH/gate", 0, vec![bd_seq(8), old.clone()]));
    let times: Vec<Timestamp> = born.iter().map(|it| it.1).collect();
    assert_eq!(times, [Timestamp((BEGAN - 60_000) as i64 * 1000), at(4)], "behind the death at {}", at(2));
    let past = Metric { is_historical: Some(true), ..old };
    assert_eq!(told(plant.say("NBIRTH/gate", 0, vec![bd_seq(8), past])).len(), 1, "what was says nothing of now");
}

#[test]
fn a_device_dies_alone() {
    let mut plant = Plant::born();
    let ended = told(plant.say("DDEATH/gate/oven", 2, vec![]));
    assert_eq!(ended.iter().map(|it| it.0).collect::<Vec<_>>(), [DEW, PRODUCT]);
    assert_eq!(told(plant.say("NDATA/gate", 3, vec![metric("", 1, 0, Wire::Double(1.3))]))[0].0, SPEED);
}

#[test]
fn a_birth_of_another_session_ends_the_one_whose_death_was_lost() {
    let mut plant = Plant::born();
    let born = told(plant.say("NBIRTH/gate", 0, vec![bd_seq(8), metric("Band", 1, 10, Wire::Double(1.2))]));
    let ended = born.iter().filter(|it| it.3 == Quality::Bad).count();
    assert_eq!((ended, born.len()), (3, 4));
    let again = told(plant.say("NBIRTH/gate", 0, vec![bd_seq(8), metric("Band", 1, 10, Wire::Double(1.2))]));
    assert_eq!(again.len(), 1, "of the same session it is only told again");
}

#[test]
fn an_alias_means_what_the_last_birth_says() {
    let mut plant = Plant::born();
    plant.say("NBIRTH/gate", 0, vec![bd_seq(8)]);
    plant.device_birth(1, 3, 2);
    let swapped = vec![metric("", 2, 0, Wire::Text("R060".into())), metric("", 3, 0, Wire::Float(71.0))];
    let data = told(plant.say("DDATA/gate/oven", 2, swapped));
    assert_eq!(data.iter().map(|it| it.0).collect::<Vec<_>>(), [PRODUCT, DEW]);
}

#[test]
fn a_message_older_than_the_birth_and_out_of_sequence_is_not_named_by_it() {
    let mut plant = Plant::born();
    plant.say("NBIRTH/gate", 0, vec![bd_seq(8)]);
    plant.device_birth(1, 3, 2);
    let metrics = || vec![metric("", 2, 0, Wire::Float(73.1))];
    assert_eq!(reasons(plant.say_at("DDATA/gate/oven", 77, metrics(), 2)), [Reason::NoBirth]);
    // A clock that was set back is no reason to lose what is in sequence.
    let product = vec![metric("", 2, 0, Wire::Text("R060".into()))];
    assert_eq!(told(plant.say_at("DDATA/gate/oven", 78, product, 2)).len(), 1);
}

#[test]
fn out_of_order_is_read_at_once_and_what_never_comes_is_lost() {
    let mut plant = Plant::born();
    let dew = |value| vec![metric("", 2, 0, Wire::Float(value))];
    for (seq, value) in [(2, 70.0), (4, 72.0), (3, 71.0)] {
        assert_eq!(told(plant.say("DDATA/gate/oven", seq, dew(value))).len(), 1);
    }
    assert_eq!(plant.nodes.give_up(at(60)), []);
    plant.say("DDATA/gate/oven", 7, dew(74.0));
    assert_eq!(plant.nodes.give_up(at(7)), [], "it may come yet");
    let lost = plant.nodes.give_up(at(8));
    let messages = LostMessages { began: at(5), ended: at(6), count: 2 };
    assert_eq!(lost, [Lost { node: NodeName { group: "Mill".into(), node: "gate".into() }, messages }]);
    assert_eq!(plant.nodes.to_be_asked().count(), 1, "a birth may have been among them");
}

#[test]
fn the_past_keeps_its_own_time_and_needs_one() {
    let mut plant = Plant::born();
    let past =
        Metric { is_historical: Some(true), timestamp: Some(BEGAN - 5000), ..metric("", 2, 0, Wire::Float(70.0)) };
    assert_eq!(told(plant.say("DDATA/gate/oven", 2, vec![past]))[0].1, Timestamp((BEGAN - 5000) as i64 * 1000));
    let timeless = Metric { is_historical: Some(true), ..metric("", 2, 0, Wire::Float(70.0)) };
    let payload = Payload { timestamp: None, metrics: vec![timeless], seq: Some(3) }.encode_to_vec();
    let results = plant.nodes.receive(&signals(), "spBv1.0/Mill/DDATA/gate/oven", &payload, at(9)).unwrap();
    assert_eq!(reasons(results), [Reason::UnreadableTime]);
}

#[test]
fn null_ends_a_value_and_limits_hold() {
    let mut plant = Plant::born();
    let null = Metric { is_null: Some(true), value: None, ..metric("", 2, 0, Wire::Float(0.0)) };
    assert_eq!(told(plant.say("DDATA/gate/oven", 2, vec![null]))[0].3, Quality::Bad);
    let hot = metric("", 2, 0, Wire::Float(400.0));
    assert_eq!(reasons(plant.say("DDATA/gate/oven", 3, vec![hot])), [Reason::OutsideLimits]);
}

#[test]
fn after_a_restart_the_notes_name_what_comes_and_show_what_was_lost() {
    let mut plant = Plant::born();
    plant.say("DDATA/gate/oven", 2, vec![metric("", 2, 0, Wire::Float(73.1))]);
    let notes = plant.nodes.take_notes();
    assert_eq!(notes.len(), 2);
    assert!(plant.nodes.take_notes().is_empty(), "nothing has changed since");
    plant.nodes = nodes();
    for (key, json) in &notes {
        assert!(key.starts_with(Nodes::NOTES));
        plant.nodes.restore(key, json).unwrap();
    }
    let data = plant.say("DDATA/gate/oven", 4, vec![metric("", 2, 0, Wire::Float(73.2))]);
    assert_eq!(told(data).len(), 1);
    assert_eq!(plant.nodes.give_up(at(60))[0].messages.count, 1);
    assert!(nodes().restore("sparkplug/births/Mill/gate", "no JSON").is_err());
    assert!(nodes().restore("sparkplug/births/Mill/gone", "{}").is_ok(), "of a node that is no longer configured");
}

#[test]
fn a_time_that_cannot_be_is_not_noted() {
    let mut plant = Plant::new();
    plant.say_at("NBIRTH/gate", 0, vec![bd_seq(7)], 9_000_000_000_000);
    for (key, json) in plant.nodes.take_notes() {
        nodes().restore(&key, &json).unwrap();
    }
}

#[test]
fn a_lost_session_ends_everything_until_the_next_birth() {
    let mut plant = Plant::born();
    assert_eq!(plant.nodes.session_lost().len(), 3);
    let data = plant.say("DDATA/gate/oven", 50, vec![metric("", 2, 0, Wire::Float(73.1))]);
    assert_eq!(reasons(data), [Reason::NoBirth]);
    assert_eq!(plant.nodes.give_up(at(60)), [], "how many were lost cannot be told");
}

#[test]
fn what_was_kept_is_read_again_by_a_birth_that_is_not_younger() {
    let mut plant = Plant::born();
    let payload = |second: u64| {
        let metrics = vec![metric("", 2, 0, Wire::Float(73.1))];
        Payload { timestamp: Some(BEGAN + second * 1000), metrics, seq: Some(2) }.encode_to_vec()
    };
    let read = |plant: &Plant, second| {
        plant.nodes.read_again(&signals(), "spBv1.0/Mill/DDATA/gate/oven", &payload(second), at(9)).unwrap()
    };
    assert_eq!(reasons(read(&plant, 1)), [Reason::NoBirth], "it was sent before the birth");
    assert_eq!(told(read(&plant, 3)).len(), 1);
    assert_eq!(told(plant.say("DDATA/gate/oven", 2, vec![metric("", 2, 0, Wire::Float(73.1))])).len(), 1);
}

#[test]
fn a_payload_of_something_else_and_a_stranger_are_rejected() {
    let mut plant = Plant::born();
    let mut receive = |topic, payload: &[u8]| plant.nodes.receive(&signals(), topic, payload, at(9));
    assert_eq!(reasons(receive("spBv1.0/Mill/NDATA/gate", b"{\"value\":1}").unwrap()), [Reason::Unreadable]);
    assert_eq!(reasons(receive("spBv1.0/Mill/NDATA/other", b"").unwrap()), [Reason::UnknownTopic]);
    assert_eq!(reasons(receive("spBv1.0/Mill/NCMD/gate", b"").unwrap()), [Reason::UnknownTopic]);
    assert_eq!(receive("mill/tunnel-1/band", b"1"), None);
}

/// Payloads that an independent library (pysparkplug 0.6.1, from PyPI) has encoded.
const BIRTH: &str = "0880a0f1c2b13412120a0562645365711880a0f1c2b1342004580312220a105a6f6e6520312f44657720706f696e74100b189898f1c2b134200965cdcc9042121a0a0750726f64756374100c1880a0f1c2b134200c7a045438303012170a064f6666736574100d1880a0f1c2b134200250d8ff0312160a0752756e6e696e67100e1880a0f1c2b134200b700112160a074e6f7468696e67100f1880a0f1c2b134200a38011800";
const DATA: &str = "08e8a7f1c2b134120e100b18e8a7f1c2b13465000091421211100c1880f38ebeb13428017a0452303630120d100d18e8a7f1c2b13450d7ff031801";
const DEATH: &str = "0880a0f1c2b13412120a0562645365711880a0f1c2b13420045803";

fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect()
}

#[test]
fn payloads_of_another_encoder_are_read() {
    let of = |metric: &str, quantity| Signal {
        tag: format!("Mill/gate#{metric}").into(),
        payload: PayloadFormat::Sparkplug { metric: metric.into() },
        ..Signal::of_topic("Mill/gate", LineIndex(0), None, quantity)
    };
    let signals = SignalMap::new(vec![
        of("Zone 1/Dew point", Quantity::DewPoint),
        of("Product", Quantity::Product),
        of("Offset", Quantity::AmbientTemperature),
        of("Running", Quantity::Feed),
        of("Nothing", Quantity::GasFlow),
    ]);
    let mut nodes = Nodes::new(&signals, PATIENCE);
    let mut say = |kind: &str, hex: &str| {
        told(nodes.receive(&signals, &format!("spBv1.0/Mill/{kind}/gate"), &bytes(hex), at(9)).unwrap())
    };
    let numbers: Vec<Value> = say("NBIRTH", BIRTH).into_iter().map(|(_, _, value, _)| value).collect();
    let text = |text: &str| Value::Text(text.into());
    let number = Value::Number;
    assert_eq!(numbers, [number(72.4), number(72.4), text("T800"), number(-40.0), number(1.0), number(0.0)]);
    let data = say("NDATA", DATA);
    assert_eq!(data[0], (SignalId(0), at(1), number(72.5), Quality::Good));
    assert_eq!(data[1], (SignalId(1), Timestamp(1_799_990_000_000_000), text("R060"), Quality::Good));
    assert_eq!(data[2].2, number(-41.0));
    assert_eq!(say("NDEATH", DEATH).len(), 5);
}

proptest! {
    #[test]
    fn bytes_that_were_damaged_on_their_way_bring_nothing_down(
        damage in prop::collection::vec((0..200_usize, any::<u8>()), 1..8),
        kind in prop::sample::select(vec!["NBIRTH/gate", "NDATA/gate", "NDEATH/gate", "DBIRTH/gate/oven", "DDATA/gate/oven"]),
    ) {
        let mut plant = Plant::born();
        let mut payload = bytes(BIRTH);
        for (at, byte) in damage {
            let place = at % payload.len();
            payload[place] ^= byte;
        }
        let damaged = plant.nodes.receive(&signals(), &format!("spBv1.0/Mill/{kind}"), &payload, at(9));
        prop_assert!(damaged.is_some());
        plant.nodes.take_notes();
        plant.say("NBIRTH/gate", 0, vec![bd_seq(9)]);
        let born = plant.device_birth(1, 2, 3);
        prop_assert_eq!(told(born).len(), 2, "the next birth puts everything right");
    }
}

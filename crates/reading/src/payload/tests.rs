#![allow(clippy::unwrap_used)]
use super::*;
use crate::quantity::Quantity;
use crate::signal::LineIndex;

const NOW: Timestamp = Timestamp(1_800_000_000_000_000);

fn signal(quantity: Quantity, payload: PayloadFormat) -> SignalMap {
    let signal = Signal::of_topic("mill/x", LineIndex(0), None, quantity);
    SignalMap::new(vec![Signal { payload, min: Some(-10.0), max: Some(400.0), ..signal }])
}

fn json() -> PayloadFormat {
    PayloadFormat::Json { value: "/value".into(), time: Some("/time".into()), quality: Some("/quality".into()) }
}

fn one(map: &SignalMap, payload: &str) -> Result<Reading, Rejection> {
    decode(map, "mill/x", payload.as_bytes(), NOW).remove(0)
}

#[test]
fn a_number_takes_the_time_of_receipt() {
    let reading = one(&signal(Quantity::BandSpeed, PayloadFormat::Number), " 1.24\n").unwrap();
    assert_eq!((reading.value, reading.time), (Value::Number(1.24), NOW));
}

#[test]
fn json_brings_its_own_time_in_any_of_the_usual_forms() {
    let map = signal(Quantity::BandSpeed, json());
    for time in [
        "\"2027-01-15T08:00:00Z\"",
        "\"2027-01-15T09:00:00+01:00\"",
        "1800000000",
        "1800000000000",
        "1800000000000000",
        "1800000000000000000",
    ] {
        let reading = one(&map, &format!("{{\"value\":1.2,\"time\":{time}}}")).unwrap();
        assert_eq!(reading.time, NOW, "{time}");
    }
}

#[test]
fn quality_is_read_and_a_word_nobody_knows_is_uncertain() {
    let map = signal(Quantity::BandSpeed, json());
    let quality = |word: &str| one(&map, &format!("{{\"value\":1,\"quality\":{word}}}")).unwrap().quality;
    assert_eq!(quality("\"GOOD\""), Quality::Good);
    assert_eq!(quality("0"), Quality::Bad);
    assert_eq!(quality("false"), Quality::Bad);
    assert_eq!(quality("\"sub-normal\""), Quality::Uncertain);
}

#[test]
fn a_product_code_is_text_even_when_it_looks_like_a_number() {
    let map = signal(Quantity::Product, json());
    assert_eq!(one(&map, "{\"value\":800}").unwrap().value, Value::Text("800".into()));
    assert_eq!(one(&map, "{\"value\":\"T800\"}").unwrap().value, Value::Text("T800".into()));
}

#[test]
fn every_fault_has_its_reason() {
    let number = signal(Quantity::BandSpeed, PayloadFormat::Number);
    let json = signal(Quantity::BandSpeed, json());
    let reason = |map, payload: &str| one(map, payload).unwrap_err().reason;
    assert_eq!(decode(&number, "mill/y", b"1", NOW)[0].as_ref().unwrap_err().reason, Reason::UnknownTopic);
    assert_eq!(reason(&number, "1,24"), Reason::Unreadable);
    assert_eq!(reason(&number, "NaN"), Reason::Unreadable);
    assert_eq!(reason(&json, "{\"value\":"), Reason::Unreadable);
    assert_eq!(reason(&json, "{\"val\":1}"), Reason::Unreadable);
    assert_eq!(reason(&json, "{\"value\":[1]}"), Reason::Unreadable);
    assert_eq!(reason(&json, "{\"value\":1,\"time\":\"noon\"}"), Reason::UnreadableTime);
    assert_eq!(reason(&json, "{\"value\":1,\"time\":1800000301}"), Reason::FutureTime);
    assert_eq!(reason(&number, "400.1"), Reason::OutsideLimits);
    assert!(one(&json, "{\"value\":1,\"time\":1800000299}").is_ok());
    assert_eq!(one(&json, "{\"value\":9000,\"quality\":\"bad\"}").unwrap().quality, Quality::Bad);
}

#[test]
fn bytes_that_are_not_text_are_refused_with_their_length() {
    let map = signal(Quantity::BandSpeed, PayloadFormat::Number);
    let rejection = decode(&map, "mill/x", &[0xff, 0xfe], NOW).remove(0).unwrap_err();
    assert_eq!(rejection.to_string(), "unreadable: 2 bytes that are not UTF-8 text");
}

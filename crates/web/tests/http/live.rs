use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::sync::Arc;
use std::time::{Duration, Instant};

use crate::millbrook;
use crate::served::Served;

/// Reads up to the next event and returns the `now` of its status.
fn next_now(events: &mut BufReader<TcpStream>) -> String {
    let mut line = String::new();
    let mut named = false;
    loop {
        line.clear();
        assert!(events.read_line(&mut line).unwrap() > 0, "the stream ended");
        named |= line == "event: status\n";
        if let Some(data) = line.strip_prefix("data: ") {
            assert!(named, "an event without its name");
            let status: serde_json::Value = serde_json::from_str(data).unwrap();
            return status["now"].as_str().unwrap().to_owned();
        }
    }
}

#[test]
fn tells_the_status_at_once_and_then_its_newest_change_once_a_second() {
    let served = Served::new(millbrook::calm(), |_| {});
    let mut events = served.listen();
    assert_eq!(next_now(&mut events), millbrook::calm().now);
    let began = Instant::now();
    for second in 11..=15 {
        let now = format!("2026-10-06T14:31:{second}+01:00");
        served.status.send_replace(Arc::new(web::PlantStatus { now, ..millbrook::calm() }));
    }
    assert_eq!(next_now(&mut events), "2026-10-06T14:31:15+01:00");
    assert!(began.elapsed() >= Duration::from_millis(900), "after {:?}", began.elapsed());
    let now = "2026-10-06T14:31:16+01:00".to_owned();
    served.status.send_replace(Arc::new(web::PlantStatus { now: now.clone(), ..millbrook::calm() }));
    assert_eq!(next_now(&mut events), now);
    assert!(began.elapsed() >= Duration::from_millis(1900), "after {:?}", began.elapsed());
}

/// The name, id and data of the next event.
fn next_event(events: &mut BufReader<TcpStream>) -> (String, i64, serde_json::Value) {
    let (mut name, mut id) = (String::new(), -1);
    loop {
        let mut line = String::new();
        assert!(events.read_line(&mut line).unwrap() > 0, "the stream ended");
        match line.trim_end().split_once(": ") {
            Some(("event", text)) => name = text.to_owned(),
            Some(("id", text)) => id = text.parse().unwrap(),
            Some(("data", text)) => return (name, id, serde_json::from_str(text).unwrap()),
            _ => {}
        }
    }
}

#[test]
fn a_change_of_an_alert_is_told_once_and_again_to_who_missed_it() {
    let served = Served::new(millbrook::overloaded(), |_| {});
    let alert = crate::examples::example::<web::api::Alert>();
    let mut events = served.listen();
    let (name, id, _) = next_event(&mut events);
    assert_eq!((name.as_str(), id), ("status", 0));
    let acknowledge = |by: &str| {
        let body = format!(r#"{{"by":"{by}"}}"#);
        let head = format!("POST /api/v1/alerts/{}/acknowledge HTTP/1.1\r\nHost: {}", alert.id, served.address);
        let headers = format!("Connection: close\r\nContent-Type: application/json\r\nContent-Length: {}", body.len());
        assert_eq!(served.send(&format!("{head}\r\n{headers}\r\n\r\n{body}")).status, 200);
    };
    acknowledge("Ann");
    acknowledge("Ben");
    served.status.send_replace(Arc::new(millbrook::answered()));
    for (number, by) in [(1, "Ann"), (2, "Ben")] {
        let (name, id, data) = next_event(&mut events);
        assert_eq!((name.as_str(), id, data["acknowledged_by"].as_str()), ("alert", number, Some(by)));
    }
    let (name, id, data) = next_event(&mut events);
    assert_eq!((name.as_str(), id), ("status", 2));
    assert_eq!(data["lines"][0]["load"], "overloaded");
    let mut back = served.listen_with("Last-Event-ID: 1\r\n");
    let (name, id, data) = next_event(&mut back);
    assert_eq!((name.as_str(), id, data["acknowledged_by"].as_str()), ("alert", 2, Some("Ben")));
    assert_eq!(next_event(&mut back).0, "status");
    assert_eq!(next_event(&mut served.listen()).0, "status", "who is new is told the present");
}

#[test]
fn an_event_that_never_was_is_refused() {
    let served = Served::new(millbrook::calm(), |_| {});
    for id in ["yesterday", "-1", "1.5"] {
        let headers = format!("Host: {}\r\nLast-Event-ID: {id}\r\nConnection: close", served.address);
        served.send(&format!("GET /api/v1/live HTTP/1.1\r\n{headers}\r\n\r\n")).problem(400);
    }
}

#[test]
fn live_streams_end_when_the_service_stops() {
    let served = Served::new(millbrook::calm(), |_| {});
    let mut events = served.listen();
    next_now(&mut events);
    let began = Instant::now();
    served.stop().unwrap();
    assert!(began.elapsed() < Duration::from_millis(700), "ended after {:?}", began.elapsed());
    let mut rest = String::new();
    events.read_to_string(&mut rest).unwrap();
    assert!(rest.trim_start().ends_with("0\r\n\r\n"), "the stream was cut off: {rest:?}");
}

#[test]
fn a_client_that_holds_its_connection_open_delays_the_end_by_less_than_a_second() {
    let served = Served::new(millbrook::calm(), |_| {});
    let mut half = served.connect();
    half.write_all(b"GET / HTTP/1.1\r\nHost: loc").unwrap();
    assert_eq!(served.get("/healthz").status, 200);
    let began = Instant::now();
    served.stop().unwrap();
    assert!(began.elapsed() < Duration::from_secs(1), "ended after {:?}", began.elapsed());
}

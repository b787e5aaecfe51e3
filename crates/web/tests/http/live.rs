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

//! What the API answers, and how it refuses.

use crate::examples::example;
use crate::millbrook;
use crate::served::Served;
use web::api::Alert;

fn served() -> Served {
    Served::new(millbrook::overloaded(), |_| {})
}

#[test]
fn every_route_answers_with_what_its_example_says() {
    let served = served();
    let alert = format!("/api/v1/alerts/{}", example::<Alert>().id);
    for path in [
        "/api/v1/lines",
        "/api/v1/lines/tunnel-1/history?from=2026-10-06T12:00:00Z&to=2026-10-06T13:00:00%2B00:00&step_s=60",
        "/api/v1/lines/tunnel-1/profile",
        "/api/v1/alerts?line=tunnel-1&standing=true",
        &alert,
        "/api/v1/alerts/rates",
        "/api/v1/signals",
        "/api/v1/gaps",
        "/api/v1/store",
        "/api/v1/quarantine",
        "/api/v1/normals",
        "/api/v1/normals/tunnel-1/T800/3",
        "/api/v1/normals/diff?a=tunnel-1/T800/3&b=tunnel-1/T800/3",
        "/api/v1/shifts",
        "/api/v1/shifts/tunnel-1/2026-10-06/early",
    ] {
        let answer = served.get(path);
        assert_eq!(
            (answer.status, answer.header("content-type")),
            (200, "application/json"),
            "{path}: {}",
            answer.body
        );
        assert_eq!(answer.header("cache-control"), "private, no-cache", "{path}");
        assert!(!answer.json().as_object().unwrap().is_empty(), "{path}");
    }
    let history = served.get("/api/v1/lines/tunnel-1/history").json();
    assert_eq!(history["zones"][0]["moisture_pct"][1], 38.2);
    assert!(history["steam_kg_h"][1].is_null(), "what nobody measured is null, and in its place");
}

#[test]
fn an_answer_that_is_known_is_not_sent_again() {
    let served = served();
    let tag = served.get("/api/v1/lines").header("etag").to_owned();
    let ask = |known: &str| {
        let head = format!("Host: {}\r\nIf-None-Match: {known}\r\nConnection: close", served.address);
        served.send(&format!("GET /api/v1/lines HTTP/1.1\r\n{head}\r\n\r\n"))
    };
    for known in [tag.clone(), format!("\"0\", W/{tag}"), "*".into()] {
        let answer = ask(&known);
        assert_eq!((answer.status, answer.body.as_str(), answer.header("etag")), (304, "", &*tag), "{known}");
    }
    assert_eq!(ask("\"0\"").status, 200);
    assert_ne!(served.get("/api/v1/store").header("etag"), tag);
}

#[test]
fn a_list_is_read_page_by_page() {
    let served = served();
    let first = served.get("/api/v1/signals?limit=2").json();
    assert_eq!(first["items"].as_array().unwrap().len(), 2);
    let next = first["next"].as_str().unwrap();
    let second = served.get(&format!("/api/v1/signals?limit=2&cursor={next}")).json();
    assert_eq!(second["items"].as_array().unwrap().len(), 1);
    assert_eq!(second["items"][0]["zone"], 3);
    assert!(second["next"].is_null());
}

#[test]
fn what_is_wrong_is_named_with_what_to_send_instead() {
    let served = served();
    for (path, told) in [
        ("/api/v1/alerts?from=yesterday", "2026-11-02T06:00:00Z"),
        ("/api/v1/alerts?from=2026-10-06T12:00:00+01:00", "%2B"),
        ("/api/v1/alerts?from=2026-10-07T00:00:00Z&to=2026-10-06T00:00:00Z", "before"),
        ("/api/v1/alerts?form=2026-10-07T00:00:00Z", "form"),
        ("/api/v1/signals?limit=0", "1 to 500"),
        ("/api/v1/signals?limit=many", "/api"),
        ("/api/v1/signals?cursor=gone", "without a cursor"),
        ("/api/v1/lines/tunnel-1/history?step_s=1", "30 to 86400"),
        ("/api/v1/normals/diff?a=tunnel-1/T800/3", "/api"),
        ("/api/v1/normals/tunnel-1/T800/three", "three"),
        ("/api/v1/shifts/tunnel-1/6.10.2026/early", "YYYY-MM-DD"),
    ] {
        let problem = served.get(path).problem(400);
        assert!(problem["detail"].as_str().unwrap().contains(told), "{path}: {problem}");
    }
    for path in ["/api/v1/lines/tunnel-9/profile", "/api/v1/alerts/none", "/api/v1/normals/tunnel-1/T800/9"] {
        let problem = served.get(path).problem(404);
        assert!(problem["detail"].as_str().unwrap().contains("There is no"), "{path}: {problem}");
    }
}

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
        "/api/v1/rate-changes/review?line=tunnel-1&product=T800&speed_m_min=1.4",
        "/api/v1/rate-changes/review?line=tunnel-1&product=T800&bake_time_min=20",
        "/api/v1/rate-changes?line=tunnel-1&state=looked-at",
        "/api/v1/rate-changes/tunnel-1/3",
        "/api/v1/energy/tunnel-1?by=month&baseline_from=2026-06-01&baseline_to=2026-09-01",
        "/api/v1/transit-runs?line=tunnel-1",
        "/api/v1/transit-runs/tunnel-1-20261006T090000Z",
        "/api/v1/transit-runs/compare?before=tunnel-1-20261006T090000Z&after=tunnel-1-20261006T090000Z",
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
fn alerts_are_read_page_by_page_as_far_as_they_are_kept() {
    let served = served();
    let mut seen = Vec::new();
    let mut path = "/api/v1/alerts?limit=2".to_owned();
    while !path.is_empty() {
        let page = served.get(&path).json();
        seen.extend(page["items"].as_array().unwrap().iter().map(|alert| alert["id"].as_str().unwrap().to_owned()));
        path = page["next"].as_str().map_or_else(String::new, |next| format!("/api/v1/alerts?limit=2&cursor={next}"));
    }
    let newest = example::<Alert>().id;
    assert_eq!(seen, [newest.clone(), format!("{}2", &newest[..25]), format!("{}1", &newest[..25])]);
}

#[test]
fn energy_comes_as_csv_to_keep_and_sheets_as_pages_that_run_nothing() {
    let served = served();
    let csv = served.get("/api/v1/energy/tunnel-1/csv?by=day");
    assert_eq!((csv.status, csv.header("content-type")), (200, "text/csv; charset=utf-8; header=present"));
    assert_eq!(csv.header("content-disposition"), "attachment; filename=\"energy.csv\"");
    assert!(csv.body.contains("2026-10-05 early"), "{}", csv.body);
    for path in
        ["/rate-changes/review?line=tunnel-1&product=T800&speed_m_min=1.4", "/transit-runs/tunnel-1-20261006T090000Z"]
    {
        let sheet = served.get(path);
        assert_eq!((sheet.status, sheet.header("content-type")), (200, "text/html; charset=utf-8"), "{path}");
        assert!(sheet.header("content-security-policy").contains("default-src 'none'"), "{path}");
        assert!(!sheet.header("content-security-policy").contains("script-src"), "{path}");
    }
    served.get("/rate-changes/review?line=tunnel-1&product=T800").problem(400);
    served.get("/transit-runs/none").problem(404);
}

#[test]
fn what_no_method_is_there_for_is_told_with_what_is() {
    let served = served();
    for (method, path, allowed) in [
        ("POST", "/api/v1/lines", "GET,HEAD"),
        ("PUT", "/api/v1/suppressions", "GET,HEAD,POST"),
        ("GET", "/api/v1/rate-changes/tunnel-1/3/agree", "POST"),
        ("DELETE", "/healthz", "GET,HEAD"),
    ] {
        let head = format!("Host: {}\r\nContent-Length: 0\r\nConnection: close", served.address);
        let answer = served.send(&format!("{method} {path} HTTP/1.1\r\n{head}\r\n\r\n"));
        answer.problem(405);
        assert_eq!(answer.header("allow"), allowed, "{method} {path}");
    }
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
        ("/api/v1/rate-changes/review?line=tunnel-1&product=T800", "either"),
        ("/api/v1/rate-changes/review?line=tunnel-1&product=T800&speed_m_min=1&bake_time_min=20", "either"),
        ("/api/v1/rate-changes/review?line=tunnel-1&product=T800&speed_m_min=NaN", "above 0"),
        ("/api/v1/rate-changes/review?line=tunnel-1&product=T800&bake_time_min=-1", "above 0"),
        ("/api/v1/rate-changes?state=done", "looked-at"),
        ("/api/v1/rate-changes/tunnel-1/first", "first"),
        ("/api/v1/energy/tunnel-1?by=week", "month"),
        ("/api/v1/energy/tunnel-1?baseline_from=2026-06-01", "two ends"),
        ("/api/v1/energy/tunnel-1?baseline_from=June&baseline_to=2026-09-01", "2026-06-01"),
        ("/api/v1/energy/tunnel-1?baseline_from=2026-09-01&baseline_to=2026-06-01", "is not after"),
        ("/api/v1/transit-runs/compare?before=a", "/api"),
    ] {
        let problem = served.get(path).problem(400);
        assert!(problem["detail"].as_str().unwrap().contains(told), "{path}: {problem}");
    }
    let path = "/api/v1/rate-changes/review?line=tunnel-1&product=X99&speed_m_min=1.4";
    assert!(served.get(path).problem(409)["detail"].as_str().unwrap().contains("normal"), "nothing to answer from");
    for path in ["/api/v1/lines/tunnel-9/profile", "/api/v1/alerts/none", "/api/v1/normals/tunnel-1/T800/9"] {
        let problem = served.get(path).problem(404);
        assert!(problem["detail"].as_str().unwrap().contains("There is no"), "{path}: {problem}");
    }
}

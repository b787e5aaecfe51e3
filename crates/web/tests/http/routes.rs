use std::sync::Arc;

use crate::millbrook;
use crate::served::Served;

fn served() -> Served {
    Served::new(millbrook::overloaded(), |_| {})
}

#[test]
fn every_path_answers_with_its_type() {
    let served = served();
    for (path, content_type) in [
        ("/", "text/html; charset=utf-8"),
        ("/plain", "text/html; charset=utf-8"),
        ("/fragment/plant", "text/html; charset=utf-8"),
        ("/assets/plant.css", "text/css; charset=utf-8"),
        ("/assets/plant.js", "text/javascript; charset=utf-8"),
        ("/api/v1/status", "application/json"),
        ("/metrics", "application/openmetrics-text; version=1.0.0; charset=utf-8"),
        ("/healthz", "text/plain; charset=utf-8"),
        ("/readyz", "text/plain; charset=utf-8"),
        ("/shifts/tunnel-1/2026-10-06/early", "text/html; charset=utf-8"),
    ] {
        let answer = served.get(path);
        assert_eq!((answer.status, answer.header("content-type")), (200, content_type), "{path}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(answer.header("referrer-policy"), "no-referrer", "{path}");
        assert_eq!(answer.header("cache-control"), "no-store", "{path}");
        assert!(answer.header("content-security-policy").starts_with("default-src 'none'; style-src "), "{path}");
        assert!(!answer.body.is_empty(), "{path}");
    }
}

#[test]
fn the_page_may_run_nothing_but_its_own_files() {
    let served = served();
    assert!(served.get("/").header("content-security-policy").starts_with(
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self';"
    ));
    let sheet = served.get("/shifts/tunnel-1/2026-10-06/early");
    assert!(!sheet.header("content-security-policy").contains("script-src"));
}

#[test]
fn the_status_is_json_with_nulls_for_what_nobody_knows() {
    let status = served().get("/api/v1/status").json();
    assert_eq!(status["site"], "millbrook");
    assert_eq!(status["lines"][0]["load"], "overloaded");
    assert_eq!(status["lines"][0]["zones"][2]["moisture_pct"], 6.2);
    assert!(status["lines"][2]["zones"][0]["dew_point_c"].is_null());
    assert_eq!(status["broker"]["rejected"][0]["count"], 3);
}

#[test]
fn a_service_that_is_not_ready_says_why() {
    let problem = Served::new(millbrook::trouble(), |_| {}).get("/readyz").problem(503);
    assert!(problem["problems"][0].as_str().unwrap().starts_with("No connection to the broker"), "{problem}");
}

#[test]
fn what_is_not_there_is_a_problem() {
    let served = served();
    let problem = served.get("/nowhere").problem(404);
    assert!(problem["detail"].as_str().unwrap().contains("/nowhere"), "{problem}");
    let problem = served.get("/shifts/tunnel-9/2026-10-06/early").problem(404);
    assert!(problem["detail"].as_str().unwrap().contains("tunnel-9"), "{problem}");
}

#[test]
fn a_wrong_request_is_told_what_to_send_instead() {
    let served = served();
    for date in ["06.10.2026", "2026-2-30", "2026-10-6", "2026-13-01"] {
        let problem = served.get(&format!("/shifts/tunnel-1/{date}/early")).problem(400);
        assert!(problem["detail"].as_str().unwrap().contains("YYYY-MM-DD"), "{problem}");
    }
    served.get("/shifts/tunnel-1/2026-10-06/%ff").problem(400);
    let post = format!("POST /healthz HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", served.address);
    let answer = served.send(&post);
    answer.problem(405);
    assert_eq!(answer.header("allow"), "GET,HEAD");
}

#[test]
fn a_sheet_that_fails_is_a_problem_and_the_rest_goes_on() {
    let served = Served::new(millbrook::calm(), |sources| {
        sources.shift_sheet = Arc::new(|_, _, _| panic!("an invented fault"));
    });
    let problem = served.get("/shifts/tunnel-1/2026-10-06/early").problem(500);
    assert!(!problem.to_string().contains("invented"), "the log has the detail: {problem}");
    assert_eq!(served.get("/healthz").body, "ok");
}

#[test]
fn a_sheet_is_asked_for_by_its_decoded_names() {
    let served = Served::new(millbrook::calm(), |sources| {
        sources.shift_sheet = Arc::new(|line, date, shift| Some(format!("{line}|{date}|{shift}")));
    });
    assert_eq!(served.get("/shifts/tunnel-1/2026-10-06/fr%C3%BCh%20a").body, "tunnel-1|2026-10-06|früh a");
}

#[test]
fn another_host_is_refused_on_loopback() {
    let served = served();
    let port = served.address.port();
    let get = |host: &str| served.send(&format!("GET /healthz HTTP/1.1\r\n{host}Connection: close\r\n\r\n"));
    for host in ["localhost", "LOCALHOST", "127.0.0.1", "[::1]"] {
        assert_eq!(get(&format!("Host: {host}:{port}\r\n")).status, 200, "{host}");
    }
    let answer = get("Host: bakery.example\r\n");
    assert!(answer.problem(421)["detail"].as_str().unwrap().contains("bakery.example"));
    assert_eq!(answer.header("x-content-type-options"), "nosniff");
    get(&format!("Host: localhost.example:{port}\r\n")).problem(421);
    get("Host: 10.0.0.1\r\n").problem(421);
    get("").problem(400);
    get("Host: \r\n").problem(400);
    // A request in absolute form names its host itself, and the header counts for nothing (RFC 9112, section 3.2.2).
    let absolute = "GET http://bakery.example/healthz HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";
    served.send(absolute).problem(421);
}

//! Who may do what: every route with every role, and what is tried by those who may not.

use std::io::{Read, Write};
use std::path::PathBuf;
use std::time::Duration;

use tempfile::TempDir;
use web::sign_in::{Role, UserBook};

use crate::examples::example;
use crate::millbrook;
use crate::served::{Answer, Served};
use web::api::Alert;

const PASSWORD: &str = "warm rolls at six";
/// A logger's file.
const RUN: &str = "time,air_temperature,dew_point\n";

struct House {
    served: Served,
    users: PathBuf,
    _folder: TempDir,
}

impl House {
    /// With one person of each role, named after it.
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let users = folder.path().join("users.json");
        let mut book = UserBook::default();
        Role::ALL.iter().for_each(|role| book.add_person(role.name(), *role, PASSWORD).unwrap());
        book.write(&users).unwrap();
        let served = Served::new(millbrook::overloaded(), |sources| sources.users = Some(users.clone()));
        Self { served, users, _folder: folder }
    }

    fn ask(&self, method: &str, path: &str, headers: &str, body: &str) -> Answer {
        ask(&self.served, method, path, headers, body)
    }

    /// Signs in; gives the cookie.
    fn sign_in(&self, name: &str, password: &str) -> Result<String, u16> {
        let body = format!(r#"{{"name":"{name}","password":"{password}"}}"#);
        let answer = self.ask("POST", "/api/v1/session", "Sec-Fetch-Site: same-origin\r\n", &body);
        let cookie = answer.header("set-cookie").split(';').next().unwrap_or_default().to_owned();
        if answer.status == 200 { Ok(cookie) } else { Err(answer.status) }
    }

    fn headers(&self, name: &str) -> String {
        format!("Cookie: {}\r\nSec-Fetch-Site: same-origin\r\n", self.sign_in(name, PASSWORD).unwrap())
    }
}

#[test]
fn that_a_path_has_no_such_method_is_told_to_everybody() {
    let house = House::new();
    for headers in [String::new(), house.headers("viewer")] {
        for (method, path) in [("POST", "/api/v1/lines"), ("PUT", "/api/v1/suppressions")] {
            house.ask(method, path, &headers, "").problem(405);
        }
    }
}

fn ask(served: &Served, method: &str, path: &str, headers: &str, body: &str) -> Answer {
    let address = served.address;
    let kind = if body == RUN { "text/csv" } else { "application/json" };
    let body = if body.is_empty() {
        "\r\n".to_owned()
    } else {
        format!("Content-Type: {kind}\r\nContent-Length: {}\r\n\r\n{body}", body.len())
    };
    served.send(&format!("{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n{headers}{body}"))
}

/// Every route with the least role that it asks for.
fn routes() -> Vec<(&'static str, String, &'static str, Option<Role>)> {
    let alert = example::<Alert>().id;
    let quiet = r#"{"line":"tunnel-1","kind":"sensor-fault","reason":"changed"}"#;
    let proposal = r#"{"line":"tunnel-1","product":"T800","speed_m_min":1.3,"reason":"order"}"#;
    let viewer = [
        "/plain",
        "/fragment/plant",
        "/metrics",
        "/shifts/tunnel-1/2026-10-06/early",
        "/api/v1/status",
        "/api/v1/lines",
        "/api/v1/lines/tunnel-1/history",
        "/api/v1/lines/tunnel-1/profile",
        "/api/v1/signals",
        "/api/v1/alerts",
        "/api/v1/alerts/rates",
        "/api/v1/suppressions",
        "/api/v1/shifts",
        "/api/v1/shifts/tunnel-1/2026-10-06/early",
        "/api/v1/normals",
        "/api/v1/normals/tunnel-1/T800/3",
        "/api/v1/normals/diff?a=tunnel-1/T800/3&b=tunnel-1/T800/3",
        "/api/v1/rate-changes",
        "/api/v1/rate-changes/review?line=tunnel-1&product=T800&speed_m_min=1.4",
        "/rate-changes/review?line=tunnel-1&product=T800&speed_m_min=1.4",
        "/api/v1/rate-changes/tunnel-1/3",
        "/api/v1/energy/tunnel-1",
        "/api/v1/energy/tunnel-1/csv",
        "/api/v1/energy/columns",
        "/api/v1/transit-runs",
        "/api/v1/transit-runs/tunnel-1-20261006T090000Z",
        "/transit-runs/tunnel-1-20261006T090000Z",
        "/api/v1/transit-runs/compare?before=tunnel-1-20261006T090000Z&after=tunnel-1-20261006T090000Z",
        "/api/v1/gaps",
        "/api/v1/store",
    ];
    let open = ["/", "/healthz", "/readyz", "/api", "/api/v1/openapi.json", "/api/v1/session", "/assets/plant.css"];
    let get = |paths: &[&str], role| paths.iter().map(|path| ("GET", (*path).to_owned(), "", role)).collect::<Vec<_>>();
    let mut routes = get(&viewer, Some(Role::Viewer));
    routes.extend(get(&open, None));
    routes.extend([
        ("GET", format!("/api/v1/alerts/{alert}"), "", Some(Role::Viewer)),
        ("POST", format!("/api/v1/alerts/{alert}/acknowledge"), "{}", Some(Role::Lead)),
        ("POST", format!("/api/v1/alerts/{alert}/comment"), r#"{"comment":"seen"}"#, Some(Role::Lead)),
        ("POST", "/api/v1/suppressions".into(), quiet, Some(Role::Lead)),
        ("DELETE", "/api/v1/suppressions/tunnel-1/sensor-fault".into(), "", Some(Role::Lead)),
        ("POST", "/api/v1/normals/tunnel-1/T800/3/approve".into(), "", Some(Role::Engineer)),
        ("POST", "/api/v1/normals/tunnel-1/T800/3/retire".into(), "", Some(Role::Engineer)),
        ("POST", "/api/v1/rate-changes".into(), proposal, Some(Role::Lead)),
        ("POST", "/api/v1/rate-changes/tunnel-1/3/agree".into(), r#"{"role":"process"}"#, Some(Role::Engineer)),
        ("POST", "/api/v1/rate-changes/tunnel-1/3/made".into(), "", Some(Role::Lead)),
        ("POST", "/api/v1/rate-changes/tunnel-1/3/follow-up".into(), "", Some(Role::Lead)),
        ("POST", "/api/v1/transit-runs".into(), RUN, Some(Role::Engineer)),
        ("GET", "/api/v1/quarantine".into(), "", Some(Role::Engineer)),
        ("GET", "/api/v1/audit".into(), "", Some(Role::Admin)),
    ]);
    routes
}

#[test]
fn every_route_lets_in_whom_it_should_and_nobody_else() {
    let house = House::new();
    let signed: Vec<(Role, String)> = Role::ALL.iter().map(|role| (*role, house.headers(role.name()))).collect();
    for (method, path, body, least) in routes() {
        let answer = house.ask(method, &path, "", body);
        match least {
            Some(_) => drop(answer.problem(401)),
            None => assert_eq!(answer.status, 200, "{method} {path} without a user"),
        }
        for (role, headers) in &signed {
            let answer = house.ask(method, &path, headers, body);
            if least.is_none_or(|least| *role >= least) {
                assert!(
                    matches!(answer.status, 200 | 204),
                    "{method} {path} as {role}: {} {}",
                    answer.status,
                    answer.body
                );
            } else {
                let problem = answer.problem(403);
                assert!(problem["detail"].as_str().unwrap().contains(role.name()), "{method} {path}: {problem}");
            }
        }
    }
}

#[test]
fn the_document_names_every_route_and_the_role_it_asks_for() {
    let house = House::new();
    let document = house.served.get("/api/v1/openapi.json").json();
    let mut named = 0;
    for (route, item) in document["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            let of_route = |path: &str| {
                let (path, route) = (path.split('?').next().unwrap().split('/'), route.split('/'));
                path.clone().count() == route.clone().count()
                    && path.zip(route).all(|(part, name)| {
                        part == name
                            || (name.starts_with('{') && !["rates", "diff", "compare", "columns"].contains(&part))
                    })
            };
            if route == "/api/v1/live" || route == "/api/v1/session" {
                continue;
            }
            let tried = routes().into_iter().find(|(of, path, ..)| of.eq_ignore_ascii_case(method) && of_route(path));
            let (.., least) = tried.unwrap_or_else(|| panic!("{method} {route} is not in the list of routes above"));
            assert_eq!(operation["x-least-role"], least.map_or("everybody", Role::name), "{method} {route}");
            named += 1;
        }
    }
    assert!(named >= 38, "{named}");
}

#[test]
fn without_users_whoever_sits_here_is_engineer_and_says_who() {
    let served = Served::new(millbrook::overloaded(), |_| {});
    let who = served.get("/api/v1/session").json();
    assert_eq!(who, serde_json::json!({ "name": null, "role": "engineer", "open": true }));
    let path = format!("/api/v1/alerts/{}/acknowledge", example::<Alert>().id);
    let problem = ask(&served, "POST", &path, "", "{}").problem(400);
    assert!(problem["detail"].as_str().unwrap().contains("\"by\""), "{problem}");
    let answer = ask(&served, "POST", &path, "", r#"{"by":"Ann"}"#).json();
    assert_eq!(answer["alert"]["acknowledged_by"], "Ann");
    ask(&served, "GET", "/api/v1/audit", "", "").problem(403);
}

#[test]
fn a_change_bears_the_name_of_who_signed_in_and_is_kept() {
    let house = House::new();
    let lead = house.headers("lead");
    let path = format!("/api/v1/alerts/{}/acknowledge", example::<Alert>().id);
    house.ask("POST", &path, &lead, r#"{"by":"somebody else"}"#).problem(400);
    let answer = house.ask("POST", &path, &lead, "{}").json();
    assert_eq!(answer["alert"]["acknowledged_by"], "lead");
    house.ask("POST", &path, &lead, r#"{"comment":"again"}"#).problem(409);
    let audit = house.ask("GET", "/api/v1/audit", &house.headers("admin"), "").json();
    let kept: Vec<String> = audit["items"]
        .as_array()
        .unwrap()
        .iter()
        .rev()
        .map(|entry| format!("{} {}", entry["who"].as_str().unwrap(), entry["what"].as_str().unwrap()))
        .collect();
    let change = |status| format!("lead POST {path}: {status}");
    assert_eq!(kept, ["lead signed in".into(), change(400), change(200), change(409), "admin signed in".into()]);
}

#[test]
fn a_session_begins_with_signing_in_and_takes_over_no_id_that_was_sent() {
    let house = House::new();
    let chosen = format!("__Host-session={}", "0".repeat(64));
    let headers = format!("Cookie: {chosen}\r\nSec-Fetch-Site: same-origin\r\n");
    let body = format!(r#"{{"name":"lead","password":"{PASSWORD}"}}"#);
    let answer = house.ask("POST", "/api/v1/session", &headers, &body);
    let cookie = answer.header("set-cookie").to_owned();
    assert!(cookie.ends_with("; Path=/; Secure; HttpOnly; SameSite=Strict"), "{cookie}");
    assert!(!cookie.contains(&chosen), "{cookie}");
    house.ask("GET", "/api/v1/lines", &format!("Cookie: {chosen}\r\n"), "").problem(401);
    // Signing in again ends the session before.
    let first = cookie.split(';').next().unwrap();
    let headers = format!("Cookie: {first}\r\nSec-Fetch-Site: same-origin\r\n");
    assert_eq!(house.ask("GET", "/api/v1/lines", &headers, "").status, 200);
    assert_eq!(house.ask("POST", "/api/v1/session", &headers, &body).status, 200);
    house.ask("GET", "/api/v1/lines", &headers, "").problem(401);
}

#[test]
fn signing_out_and_leaving_the_book_end_a_session() {
    let house = House::new();
    let (lead, viewer) = (house.headers("lead"), house.headers("viewer"));
    assert_eq!(house.ask("DELETE", "/api/v1/session", &lead, "").status, 204);
    house.ask("GET", "/api/v1/lines", &lead, "").problem(401);
    assert_eq!(house.ask("GET", "/api/v1/lines", &viewer, "").status, 200);
    let mut book = UserBook::read(&house.users).unwrap();
    for role in Role::ALL {
        book.remove(role.name());
    }
    std::thread::sleep(Duration::from_millis(20));
    book.write(&house.users).unwrap();
    house.ask("GET", "/api/v1/lines", &viewer, "").problem(401);
    house.ask("GET", "/api/v1/lines", "", "").problem(401);
    assert_eq!(house.served.get("/api/v1/session").json()["open"], false, "a book that was emptied opens nothing");
}

#[test]
fn passwords_cannot_be_guessed_one_after_the_other() {
    let house = House::new();
    for _ in 0..5 {
        assert_eq!(house.sign_in("lead", "a wrong password"), Err(401));
        assert_eq!(house.sign_in("nobody", "a wrong password"), Err(401));
    }
    assert_eq!(house.sign_in("lead", PASSWORD), Err(429), "the right one as well");
    assert_eq!(house.sign_in("nobody", PASSWORD), Err(429));
    assert!(house.sign_in("viewer", PASSWORD).is_ok(), "others do not wait");
    let body = r#"{"name":"lead","password":"a wrong password"}"#;
    let answer = house.ask("POST", "/api/v1/session", "Sec-Fetch-Site: same-origin\r\n", body);
    answer.problem(429);
    assert!((1..=301).contains(&answer.header("retry-after").parse::<u32>().unwrap()));
}

#[test]
fn a_page_of_another_site_changes_nothing() {
    let house = House::new();
    let cookie = format!("Cookie: {}\r\n", house.sign_in("lead", PASSWORD).unwrap());
    let path = format!("/api/v1/alerts/{}/acknowledge", example::<Alert>().id);
    let address = house.served.address;
    for (from, status) in [
        ("Sec-Fetch-Site: cross-site\r\n".to_owned(), 403),
        ("Sec-Fetch-Site: same-site\r\n".into(), 403),
        ("Origin: http://bakery.example\r\n".into(), 403),
        ("Origin: null\r\n".into(), 403),
        (String::new(), 403),
        (format!("Origin: http://{address}\r\n"), 200),
        ("Sec-Fetch-Site: same-origin\r\n".into(), 200),
    ] {
        let answer = house.ask("POST", &path, &format!("{cookie}{from}"), "{}");
        assert_eq!(answer.status, status, "{from:?}: {}", answer.body);
    }
    // Nor where nobody signs in: what a browser sends from elsewhere says so.
    let served = Served::new(millbrook::overloaded(), |_| {});
    ask(&served, "POST", &path, "Origin: http://bakery.example\r\n", r#"{"by":"Ann"}"#).problem(403);
    // A form of HTML cannot send JSON.
    let form = format!(
        "POST {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Type: text/plain\r\nContent-Length: 2\r\n\r\n{{}}",
        served.address
    );
    served.send(&form).problem(415);
}

#[test]
fn a_token_opens_what_its_role_may_until_its_end() {
    let house = House::new();
    let mut book = UserBook::read(&house.users).unwrap();
    let day = chrono::TimeDelta::days(1);
    let now = chrono::DateTime::<chrono::Utc>::from(std::time::SystemTime::now());
    let lead = book.add_token("panel", Role::Lead, now + day).unwrap();
    let over = book.add_token("old panel", Role::Lead, now - day).unwrap();
    std::thread::sleep(Duration::from_millis(20));
    book.write(&house.users).unwrap();
    let ask = |token: &str, method: &str, path: &str, body: &str| {
        house.ask(method, path, &format!("Authorization: Bearer {token}\r\n"), body)
    };
    let path = format!("/api/v1/alerts/{}/acknowledge", example::<Alert>().id);
    assert_eq!(ask(&lead, "POST", &path, "{}").json()["alert"]["acknowledged_by"], "panel");
    ask(&lead, "POST", "/api/v1/normals/tunnel-1/T800/3/approve", "").problem(403);
    ask(&over, "GET", "/api/v1/lines", "").problem(401);
    ask("0", "GET", "/api/v1/lines", "").problem(401);
}

#[test]
fn a_body_that_is_too_large_too_slow_or_none_is_refused() {
    let served = Served::new(millbrook::overloaded(), |_| {});
    let path = format!("/api/v1/alerts/{}/comment", example::<Alert>().id);
    let large = format!(r#"{{"by":"Ann","comment":"{}"}}"#, "x".repeat(70_000));
    ask(&served, "POST", &path, "", &large).problem(413);
    ask(&served, "POST", &path, "", r#"{"by":"Ann""#).problem(400);
    ask(&served, "POST", &path, "", r#"{"by":"Ann","comment":"seen","more":1}"#).problem(400);
    ask(&served, "POST", &path, "", r#"{"by":"Ann","comment":" "}"#).problem(400);
    let mut slow = served.connect();
    slow.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    let head = "Content-Type: application/json\r\nContent-Length: 100\r\nConnection: close\r\n\r\n{";
    write!(slow, "POST {path} HTTP/1.1\r\nHost: {}\r\n{head}", served.address).unwrap();
    assert_eq!(served.get("/healthz").status, 200, "others do not wait");
    let mut answer = String::new();
    slow.read_to_string(&mut answer).unwrap();
    assert!(answer.starts_with("HTTP/1.1 408"), "{answer}");
}

#[test]
fn no_path_leads_out_of_the_console() {
    let served = Served::new(millbrook::overloaded(), |_| {});
    for path in [
        "/console/../../../../etc/passwd",
        "/console/..%2f..%2f..%2f..%2fetc%2fpasswd",
        "/console/%2e%2e/%2e%2e/etc/passwd",
        "/console//etc/passwd",
        "/shifts/..%2f..%2fetc/2026-10-06/passwd",
        "/api/v1/normals/..%2f..%2f/passwd/1",
    ] {
        let answer = served.get(path);
        assert!(matches!(answer.status, 400 | 404), "{path}: {}", answer.status);
        assert!(!answer.body.contains("root:"), "{path}");
    }
}

#[test]
fn a_loggers_file_is_taken_as_csv_and_no_larger_than_it_may_be() {
    let served = Served::new(millbrook::overloaded(), |_| {});
    let send = |path: &str, kind: &str, body: &str| {
        let head = format!("Content-Type: {kind}\r\nContent-Length: {}\r\nConnection: close", body.len());
        served.send(&format!("POST {path} HTTP/1.1\r\nHost: {}\r\n{head}\r\n\r\n{body}", served.address))
    };
    let path = "/api/v1/transit-runs?injectors_m=0.5,0.9&separator=%3B&speed_m_min=1.17";
    assert_eq!(send(path, "text/csv; charset=utf-8", &RUN.repeat(70_000)).status, 200, "2 MB are no body of JSON");
    send(path, "application/json", "{}").problem(415);
    send(path, "text/csv", &"x".repeat((8 << 20) + 1)).problem(413);
    send(path, "text/csv", "").problem(400);
    for (query, told) in [
        ("injectors_m=near", "0.5,0.9"),
        ("separator=tab", "one plain character"),
        ("dew_point_column=a&moisture_column=b", "either"),
        ("entered=noon", "2026-11-02T06:00:00Z"),
    ] {
        let problem = send(&format!("/api/v1/transit-runs?{query}"), "text/csv", RUN).problem(400);
        assert!(problem["detail"].as_str().unwrap().contains(told), "{query}: {problem}");
    }
}

#[test]
fn a_change_is_noted_also_when_nobody_waits_for_its_answer() {
    let house = House::new();
    let (lead, admin) = (house.headers("lead"), house.headers("admin"));
    let path = format!("/api/v1/alerts/{}/acknowledge", example::<Alert>().id);
    let body = r#"{"comment":"slowly"}"#;
    let head = format!("Host: {}\r\n{lead}Content-Type: application/json", house.served.address);
    let mut stream = house.served.connect();
    write!(stream, "POST {path} HTTP/1.1\r\n{head}\r\nContent-Length: {}\r\n\r\n{body}", body.len()).unwrap();
    std::thread::sleep(Duration::from_millis(150));
    drop(stream);
    let noted = |_| {
        std::thread::sleep(Duration::from_millis(50));
        house.ask("GET", "/api/v1/audit", &admin, "").body.contains(&format!("POST {path}: 200"))
    };
    assert!((0..200).any(noted), "nothing was noted");
}

#[test]
fn without_users_what_was_changed_is_noted_under_the_name_that_was_given() {
    let noted = std::sync::Arc::new(crate::examples::Examples::default());
    let answers = noted.clone();
    let served = Served::new(millbrook::overloaded(), |sources| sources.answers = answers);
    let path = format!("/api/v1/alerts/{}/acknowledge", example::<Alert>().id);
    ask(&served, "POST", &path, "", r#"{"by":"Ann"}"#);
    ask(&served, "POST", &path, "", "{}").problem(400);
    let entries = web::api::Answers::audit(&*noted).unwrap();
    let told: Vec<String> = entries.iter().rev().map(|entry| format!("{}: {}", entry.who, entry.what)).collect();
    assert_eq!(
        told,
        [format!("Ann, at this machine: POST {path}: 200"), format!("who sits at this machine: POST {path}: 400"),]
    );
}

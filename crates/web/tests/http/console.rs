//! The console as the program hands it out. Built without Node, `/` shows the plain status page instead.

use crate::millbrook;
use crate::served::Served;

fn served() -> Served {
    Served::new(millbrook::overloaded(), |_| {})
}

/// What the index wants from /console/; nothing where the console is left out.
fn wanted(index: &str) -> Vec<&str> {
    index.split('"').filter(|part| part.starts_with("/console/")).collect()
}

#[test]
fn the_front_is_the_console_or_the_plain_page() {
    let served = served();
    let (front, plain) = (served.get("/").body, served.get("/plain").body);
    assert!(plain.contains("Tunnel oven 1: overloaded"), "{plain}");
    if wanted(&front).is_empty() {
        assert_eq!(front, plain);
    } else {
        assert!(front.contains(r#"<div id="console">"#), "{front}");
        assert!(front.contains(r#"href="/plain""#), "{front}");
    }
}

#[test]
fn every_file_of_the_index_is_there_and_the_hashed_ones_stay_in_the_browser() {
    let served = served();
    for path in wanted(&served.get("/").body) {
        let answer = served.get(path);
        assert_eq!(answer.status, 200, "{path}");
        assert!(!answer.body.is_empty(), "{path}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{path}");
        let kept =
            if path.starts_with("/console/assets/") { "public, max-age=31536000, immutable" } else { "no-store" };
        assert_eq!(answer.header("cache-control"), kept, "{path}");
    }
}

#[test]
fn a_file_that_is_not_there_is_said_to_be_missing() {
    for path in ["/console/assets/gone.js", "/console/../Cargo.toml", "/console/%2e%2e/Cargo.toml"] {
        let answer = served().get(path);
        assert_eq!(answer.status, 404, "{path}");
        assert_eq!(answer.header("content-type"), "application/problem+json", "{path}");
    }
}

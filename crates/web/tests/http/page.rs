use serde_json::json;
use web::PlantStatus;

use crate::millbrook;
use crate::served::Served;

fn page(status: PlantStatus) -> String {
    Served::new(status, |_| {}).get("/plain").body
}

#[test]
fn the_overloaded_oven_comes_first_with_what_to_do() {
    let page = page(millbrook::overloaded());
    let place = |words: &str| page.find(words).unwrap_or_else(|| panic!("{words:?} is not on the page"));
    let order = [
        "Tunnel oven 1: overloaded</span></h2>",
        "moisture is being carried past zone 2.",
        "Check the steam valve",
        "Open the exhaust of zone 2 to 58 %",
        "Slow the band to 1.27 m/min",
        "Advice only",
        "▲ 6.2",
        "Began <time datetime=\"2026-10-06T13:02:00Z\">14:02</time>, 29 min ago",
        "<span>Tunnel oven 2: the band runs faster.",
        "<h3 id=\"oven-tunnel-1\">Tunnel oven 1</h3>",
        "<h3 id=\"oven-tunnel-3\">Tunnel oven 3</h3>",
        "Tunnel oven 2: too little steam",
        "1\u{202f}284\u{202f}310",
    ]
    .map(place);
    assert!(order.is_sorted(), "{order:?}");
    assert!(!page.contains("No oven needs"));
}

#[test]
fn an_acknowledged_alert_keeps_its_place_with_less_noise() {
    let page = page(millbrook::answered());
    for words in [
        "class=\"alert act answered\"",
        "<strong>Acknowledged</strong> by Ann at <time datetime=\"2026-10-06T13:12:00Z\">14:12</time>",
        "Ann: Opening the damper of zone 2.",
        "Tunnel oven 1: overloaded, acknowledged by Ann.",
        "Overloaded, acknowledged",
        "Open the exhaust of zone 2 to 58 %",
    ] {
        assert!(page.contains(words), "{words:?} is not on the page");
    }
    assert!(!page.contains("Nobody has acknowledged"));
    assert!(self::page(millbrook::overloaded()).contains("Nobody has acknowledged it."));
}

#[test]
fn what_is_kept_quiet_is_listed_with_its_end_and_its_reason_and_calls_nobody() {
    let page = page(millbrook::shelved());
    let place = |words: &str| page.find(words).unwrap_or_else(|| panic!("{words:?} is not on the page"));
    let order = [
        "<strong>No oven calls you.",
        "1 overloaded, kept quiet",
        "Overloaded, kept quiet",
        "Shelved and out of service",
        "Until <time datetime=\"2026-10-06T15:00:00Z\">16:00</time>",
        "Tunnel oven 1: unmatched speed rise",
        "Trial run at 1.41 m/min.",
        "It stands: Band up 13.7 %",
        "Tunnel oven 2: sensor fault",
        "It stands: Dew point of zone 4",
        "Until it is put back",
        "Tunnel oven 3: zone 3 limit",
        "Out of service by Ann since",
        "Alerts that are over",
    ];
    assert!(order.map(place).is_sorted(), "{order:?}");
    assert!(!page.contains("class=\"alert"));
    let spoken = page.split_once("data-part=\"spoken\">").unwrap().1.split_once('<').unwrap().0;
    assert_eq!(spoken, "No oven calls you.");
    assert!(!page.contains("No oven needs"), "that would be saying too much");
    let told_by_nobody = PlantStatus { suppressions: Vec::new(), ..millbrook::shelved() };
    assert!(self::page(told_by_nobody).contains("moisture is being carried past zone 2."), "an alert is never dropped");
}

#[test]
fn a_quiet_plant_is_calm() {
    let page = page(millbrook::calm());
    assert!(page.contains("No oven needs you."));
    assert!(page.contains("2 baking · 1 stopped"));
    assert!(!page.contains("class=\"alert"));
}

#[test]
fn the_page_is_never_calm_when_nobody_watches() {
    let trouble = page(millbrook::trouble());
    assert!(trouble.contains("No connection to the broker"));
    assert!(trouble.contains("No readings, so not watched: Tunnel oven 1, Tunnel oven 2, Tunnel oven 3."));
    let starting = page(PlantStatus { ready: false, ..millbrook::calm() });
    assert!(starting.contains("The service does not watch the ovens yet."));
    let mut untold = millbrook::overloaded();
    untold.alerts.clear();
    let untold = page(untold);
    assert!(untold.contains("Tunnel oven 1: overloaded."));
    for page in [trouble, starting, untold, page(PlantStatus::default())] {
        assert!(!page.contains("No oven needs"), "{page}");
    }
}

#[test]
fn names_from_the_plant_cannot_become_markup() {
    let hostile = "<script>alert('x')</script>\"><img src=x onerror=alert(1)>";
    let mut status = millbrook::overloaded();
    status.name = hostile.into();
    status.version = hostile.into();
    status.now = hostile.into();
    status.problems = vec![hostile.into()];
    status.broker.rejected[0].reason = hostile.into();
    for line in &mut status.lines {
        line.name = hostile.into();
        line.id = hostile.into();
        line.state = hostile.into();
        line.product = Some(hostile.into());
        line.normal = Some(hostile.into());
        line.load_since = Some(hostile.into());
    }
    status.shifts[0].shift = hostile.into();
    status.shifts[0].href = hostile.into();
    let mut alert = millbrook::carryover();
    for key in [
        "id",
        "line",
        "finding",
        "product",
        "message",
        "caution",
        "state",
        "began",
        "acknowledged_by",
        "acknowledged_at",
    ] {
        alert[key] = json!(hostile);
    }
    alert["comments"] = json!([{ "by": hostile, "at": hostile, "text": hostile }]);
    let [line, kind, since, reason, by] = [(); 5].map(|()| hostile.to_owned());
    status.suppressions = vec![web::SuppressionStatus { line, kind, since, until: Some(hostile.into()), reason, by }];
    alert["advice"][0]["step"] = json!(hostile);
    alert["advice"][0]["text"] = json!(hostile);
    status.alerts.push(alert);
    let page = page(status);
    assert!(page.contains("&lt;script&gt;"));
    assert!(!page.contains("<script>") && !page.contains("<img"), "{page}");
}

#[test]
fn the_fragment_is_what_stands_in_main() {
    let served = Served::new(millbrook::overloaded(), |_| {});
    let (page, fragment) = (served.get("/plain").body, served.get("/fragment/plant").body);
    let inside = page.split_once("<main id=\"plant\" tabindex=\"-1\">").unwrap().1.split_once("</main>").unwrap().0;
    assert_eq!(inside, fragment);
}

#[test]
fn what_is_spoken_does_not_change_with_the_clock() {
    let spoken = |page: &str| page.split_once("data-part=\"spoken\">").unwrap().1.split_once('<').unwrap().0.to_owned();
    let later = PlantStatus { now: "2026-10-06T14:32:10+01:00".into(), ..millbrook::overloaded() };
    assert_eq!(spoken(&page(millbrook::overloaded())), spoken(&page(later)));
}

#[test]
fn the_page_asks_nothing_of_another_machine() {
    let served = Served::new(millbrook::overloaded(), |_| {});
    for path in ["/plain", "/assets/plant.css", "/assets/plant.js"] {
        let body = served.get(path).body.replace("http://www.w3.org/2000/svg", "");
        assert!(!body.contains("http://") && !body.contains("https://") && !body.contains("@import"), "{path}");
        assert!(!body.contains("style=\"") && !body.contains("onclick"), "{path} needs inline style or script");
    }
}

//! The evidence of an alert, as it is printed.

use serde_json::Value;

use crate::day::written_day;
use crate::plant::Plant;

#[test]
fn an_alert_is_explained_by_the_evidence_that_raised_it() {
    let place = Plant::new();
    let (_, day) = written_day(&place);
    let alert: Value = serde_json::from_str(&place.printed(&["replay", &day, "--format", "jsonl"])).unwrap();
    let id = alert["id"].as_str().unwrap();

    let json = place.printed(&["replay", &day, "--explain", &id[..12], "--format", "jsonl"]);
    let explained: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(explained["alert"], alert);
    let test = explained["test"].as_array().unwrap();
    let deciding = test.iter().find(|judged| judged["at"] == alert["raised"]).unwrap();
    assert_eq!(deciding["finding"], alert["finding"]);
    assert!(deciding["chance"].as_f64() <= explained["threshold"].as_f64(), "{deciding}");
    for (judged, told) in deciding["zones"].as_array().unwrap().iter().zip(alert["zones"].as_array().unwrap()) {
        assert_eq!(judged["observed_pct"], told["observed"]);
        assert_eq!(judged["by_practice_pct"], told["expected"]);
    }
    // The windows are those before the rise as well: the band ran slower then.
    let windows = explained["windows"].as_array().unwrap();
    let speed = |window: &Value| window["band_speed_m_min"].as_f64().unwrap();
    assert!(speed(windows.last().unwrap()) > 1.1 * speed(&windows[0]), "{windows:?}");

    let text = place.printed(&["replay", &day, "--explain", &id.to_lowercase()]);
    for told in [id, "Why carryover", "by practice", "untouched", "The test, window by window", "  raised\n", "baking"]
    {
        assert!(text.contains(told), "{told:?} is missing in\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 110 || line.starts_with("Band up")), "{text}");
}

#[test]
fn an_alert_that_is_not_raised_has_no_evidence() {
    let place = Plant::new();
    let (_, day) = written_day(&place);
    let output = place.run(&["replay", &day, "--explain", "01NOSUCHALERT"]);
    assert_eq!(output.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&output.stderr).contains("the replay raises no alert 01NOSUCHALERT"));
}

//! What detection does and what people do, in every order, on one store.
#![allow(clippy::unwrap_used)]

use std::path::Path;

use alert::{Kind, ShelfLimits, Transition};
use reading::Span;
use serde_json::json;
use store::AlertQuery;
use tempfile::TempDir;

use super::*;
use crate::config;

const NOW: Timestamp = Timestamp(1_780_380_000_000_000);
const LIMIT: Scope<'_> = Scope { line: "tunnel-1", kind: Kind::Zone3Limit };

struct Place {
    _folder: TempDir,
    store: Store,
    desk: AlertDesk,
}

fn place() -> Place {
    let folder = tempfile::tempdir().unwrap();
    let config = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../config/test-day.toml");
    let settings = config::load(&config).unwrap();
    let plant = Arc::new(settings.plant.clone());
    let store = Store::open(folder.path(), &plant).unwrap();
    Place { desk: AlertDesk::new(&settings, plant, store.clone()), store, _folder: folder }
}

fn alert(id: &str) -> Alert {
    serde_json::from_value(json!({
        "id": id, "site": "millbrook", "line": "tunnel-1", "kind": "zone3-limit", "finding": "zone3-limit",
        "priority": "high", "state": "unacknowledged", "product": "T800", "began": NOW, "raised": NOW, "ended": null,
        "speed": null, "zones": [], "confidence": null, "normal": null, "message": "Zone 3.", "advice": [],
        "caution": "Advice only."
    }))
    .unwrap()
}

fn at(minutes: i64) -> Timestamp {
    NOW + Span::minutes(minutes)
}

fn ann(minutes: i64) -> Person<'static> {
    Person { name: "Ann", now: at(minutes) }
}

fn shelf(minutes: i64) -> Suppression {
    let limits = ShelfLimits::default();
    Suppression::shelf(Kind::Zone3Limit, at(minutes), "sensor is changed", "Ann", NOW, limits).unwrap()
}

impl Place {
    fn stored(&self, id: &str) -> Alert {
        let records = self.store.alerts(&AlertQuery::default()).unwrap();
        serde_json::from_str(&records.iter().find(|record| record.id == id).unwrap().json).unwrap()
    }

    /// Each change of an alert's state: who did it, and the state from then on.
    fn history(&self, id: &str) -> Vec<String> {
        let history = self.store.alert_history(id).unwrap();
        history.iter().map(|change| format!("{}: {}", change.who, change.state)).collect()
    }

    /// The states of the retained alert as they were published; empty where it was taken back.
    fn published(&self) -> Vec<String> {
        let messages = self.store.outbox_next(0, 99).unwrap().into_iter().map(|outgoing| outgoing.message);
        let state = |payload: &[u8]| serde_json::from_slice::<Alert>(payload).map_or("", |alert| alert.state.name());
        messages.filter(|message| message.retain).map(|message| state(&message.payload).to_owned()).collect()
    }
}

#[test]
fn an_answer_outlives_the_end_and_what_was_raised_is_not_raised_again() {
    let place = place();
    assert_eq!(place.desk.raise(&alert("A"), NOW).unwrap(), Some(AlertState::Unacknowledged));
    place.desk.acknowledge(&["A"], ann(1), Some("opening damper 2")).unwrap();
    // Detection knows nothing of answers: after a restart it raises the same alert again.
    assert_eq!(place.desk.raise(&alert("A"), at(2)).unwrap(), None);
    place.desk.end("A", at(3), "ended").unwrap();
    place.desk.end("A", at(4), "ended").unwrap();
    place.desk.comment("A", ann(5), "it was the fan").unwrap();
    let stored = place.stored("A");
    assert_eq!((stored.state, stored.ended), (AlertState::ReturnedAcknowledged, Some(at(3))));
    assert_eq!((stored.answer.acknowledged_by.as_deref(), stored.answer.acknowledged_at), (Some("Ann"), Some(at(1))));
    let said: Vec<&str> = stored.answer.comments.iter().map(|comment| &*comment.text).collect();
    assert_eq!(said, ["opening damper 2", "it was the fan"]);
    let told = ["ovenward: unacknowledged", "Ann: acknowledged", "ovenward: returned-acknowledged"];
    assert_eq!(place.history("A"), [told.as_slice(), &["Ann: returned-acknowledged"]].concat());
    assert_eq!(place.published(), ["unacknowledged", "acknowledged", "", ""]);
}

#[test]
fn what_never_was_raised_does_not_end() {
    let place = place();
    place.desk.end("A", NOW, "ended").unwrap();
    assert_eq!(place.store.alerts(&AlertQuery::default()).unwrap(), []);
    assert_eq!(place.published(), [""; 0]);
}

#[test]
fn several_alerts_are_acknowledged_all_or_none() {
    let place = place();
    for id in ["A", "B"] {
        place.desk.raise(&alert(id), NOW).unwrap();
    }
    place.desk.acknowledge(&["B"], ann(1), None).unwrap();
    let refused = place.desk.acknowledge(&["A", "B"], ann(2), None).unwrap_err();
    assert_eq!(refused.to_string(), "B is acknowledged already; a comment adds to it; nothing was changed");
    assert_eq!(place.stored("A").state, AlertState::Unacknowledged);
}

#[test]
fn a_shelf_holds_for_what_stands_and_for_what_is_raised_until_its_time_is_over() {
    let place = place();
    place.desk.raise(&alert("A"), NOW).unwrap();
    place.desk.acknowledge(&["A"], ann(0), None).unwrap();
    place.desk.suppress(LIMIT, &shelf(30)).unwrap();
    assert_eq!(place.desk.raise(&alert("B"), at(10)).unwrap(), Some(AlertState::Shelved));
    assert_eq!(place.stored("B").answer.suppression.unwrap().reason, "sensor is changed");
    assert!(place.desk.release_what_is_over(at(29)).unwrap().is_empty());
    assert_eq!(place.desk.release_what_is_over(at(30)).unwrap().len(), 2);
    assert!(place.desk.release_what_is_over(at(31)).unwrap().is_empty(), "once");
    for id in ["A", "B"] {
        let stored = place.stored(id);
        assert_eq!((stored.state, stored.answer), (AlertState::Unacknowledged, alert::Answer::default()), "{id}");
    }
    assert_eq!(place.history("B"), ["ovenward: shelved", "ovenward: unacknowledged"]);
}

#[test]
fn an_alert_raised_late_is_no_quieter_than_was_asked_for() {
    let place = place();
    place.desk.suppress(LIMIT, &shelf(30)).unwrap();
    // Its readings are of the time on the shelf; the clock on the wall says that this time is over.
    assert_eq!(place.desk.raise(&alert("A"), at(31)).unwrap(), Some(AlertState::Unacknowledged));
    assert!(place.desk.release_what_is_over(at(32)).unwrap().is_empty(), "it calls already");
    assert_eq!(place.store.alert_book().unwrap().suppressions, []);
}

#[test]
fn only_the_line_and_kind_named_are_kept_quiet() {
    let place = place();
    place.desk.suppress(Scope { kind: Kind::SensorFault, ..LIMIT }, &shelf(30)).unwrap();
    place.desk.suppress(Scope { line: "tunnel-2", ..LIMIT }, &shelf(30)).unwrap();
    assert_eq!(place.desk.raise(&alert("A"), NOW).unwrap(), Some(AlertState::Unacknowledged));
}

#[test]
fn out_of_service_ends_by_hand_only_and_asks_nobody_about_what_ended_meanwhile() {
    let place = place();
    let out = Suppression::out_of_service("burner is rebuilt", "Ann", NOW).unwrap();
    place.desk.suppress(LIMIT, &shelf(30)).unwrap();
    place.desk.suppress(LIMIT, &out).unwrap();
    for id in ["A", "B"] {
        assert_eq!(place.desk.raise(&alert(id), NOW).unwrap(), Some(AlertState::OutOfService));
    }
    place.desk.end("A", at(5), "ended").unwrap();
    assert_eq!(place.stored("A").state, AlertState::ReturnedSuppressed);
    assert!(place.desk.release_what_is_over(at(1_000_000)).unwrap().is_empty());

    let refused = |result: Result<Vec<Alert>, Failure>| result.unwrap_err().to_string();
    assert!(refused(place.desk.suppress(LIMIT, &shelf(60))).contains("zone3-limit on tunnel-1 is out of service"));
    assert!(refused(place.desk.release(LIMIT, Transition::Unshelve, ann(6))).contains("write in-service"));
    assert_eq!(place.desk.release(LIMIT, Transition::PutInService, ann(7)).unwrap().len(), 1);
    assert_eq!(place.stored("B").state, AlertState::Unacknowledged);
    assert!(refused(place.desk.release(LIMIT, Transition::PutInService, ann(8))).contains("calls already"));
}

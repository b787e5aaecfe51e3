//! Alerts and rate changes: as they stand now, with what was done about them; and a store that was restored.

use std::fs;
use std::time::Duration;

use bakehouse::{
    Bakery, BrokerAddress, Clock, PayloadStyle, PlantReading, PublishOptions, RateChange, Response, Schedule,
    Simulation, What,
};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};
use tokio::sync::watch;

use crate::content::{assert_same, begins};
use crate::plant::{Plant, wait_for};
use crate::server::Server;

/// Baking with a rise that nobody met, until its alert stands.
fn readings() -> Vec<PlantReading> {
    let start: DateTime<Utc> = begins();
    let rise = RateChange::sudden(14.0, TimeDelta::minutes(60), Response::NoVenting);
    let schedule = Schedule::quiet().with("tunnel-1", start + TimeDelta::minutes(90), What::RateChange(rise));
    let interval = Duration::from_secs(10);
    let mut plant = Simulation::new(Bakery::millbrook_single(), &schedule, 3, start, interval).unwrap();
    plant.until(start + TimeDelta::minutes(130)).collect()
}

fn play(place: &Plant, readings: Vec<PlantReading>) {
    let broker = BrokerAddress { host: "127.0.0.1".into(), port: place.broker_port };
    let options = PublishOptions { broker, client_id: "bakehouse".into(), style: PayloadStyle::Json };
    let (_stop, stopped) = watch::channel(false);
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let pace = runtime.block_on(async { Clock::starting_now(readings[0].time, 1000.0) });
    let count = readings.len();
    let sent = runtime.block_on(bakehouse::publish(readings.into_iter(), &options, pace, stopped));
    assert_eq!(sent.acknowledged, count as u64);
}

/// The alerts as the command prints them, held against the documents in the database.
fn assert_alerts(server: &Server, place: &Plant) -> Vec<Value> {
    let told: Vec<Value> = serde_json::from_str(&place.printed(&["alerts", "--format", "json"])).unwrap();
    let there = server.rows("alert");
    for row in &there {
        for column in ["id", "site", "line", "kind", "finding", "priority", "state", "product", "message", "normal"] {
            assert_eq!(row[column], row["document"][column], "{column}");
        }
    }
    assert_same(there.iter().map(|row| row["document"].clone()).collect(), told, &[]);
    there
}

#[test]
fn an_alert_and_what_people_did_about_it_are_there_and_a_restored_store_is_noticed() {
    let (server, place) = (Server::new(), Plant::new());
    server.write_into(&place, &server.url(), "");
    let serving = place.serve();
    play(&place, readings());
    wait_for("the alert", || server.is_made() && server.count("ovenward.alert") == 1);
    let id = assert_alerts(&server, &place)[0]["id"].as_str().unwrap().to_owned();
    let copy = place.path("copy");
    place.printed(&["store", "backup", copy.to_str().unwrap()]);
    let history =
        || server.psql("SELECT string_agg(who || ': ' || state, ', ' ORDER BY number) FROM ovenward.alert_change");
    let before = history();

    place.printed(&["alerts", "acknowledge", &id, "--by", "Ann", "--comment", "opening damper 2"]);
    wait_for("the answer", || server.psql("SELECT state FROM ovenward.alert") == "acknowledged");
    assert_eq!(history(), format!("{before}, Ann: acknowledged"));
    let row = assert_alerts(&server, &place).remove(0);
    assert_eq!(row["document"]["comments"][0]["text"], "opening damper 2");
    a_rate_change_is_there_as_it_stands(&server, &place);

    // The store is that of before the answer: its journal is shorter than the database says.
    drop(serving);
    fs::remove_dir_all(place.path("data")).unwrap();
    fs::rename(&copy, place.path("data")).unwrap();
    let _serving = place.serve();
    place.printed(&["alerts", "acknowledge", &id, "--by", "Ben"]);
    wait_for("the other answer", || server.psql("SELECT document->>'acknowledged_by' FROM ovenward.alert") == "Ben");
    assert_alerts(&server, &place);
    assert_eq!(history(), format!("{before}, Ben: acknowledged"));
    let log = fs::read_to_string(place.path("serve.log")).unwrap();
    assert_eq!(log.matches("the store was restored or replaced").count(), 1, "{log}");
}

/// A record put into the store as if a person had proposed it, and then agreed to.
fn a_rate_change_is_there_as_it_stands(server: &Server, place: &Plant) {
    let settings = ovenward::config::load(&place.path("plant.toml")).unwrap();
    let store = store::Store::open(&settings.data_dir, &settings.plant).unwrap();
    let signed = json!({ "by": "Ann", "at": "2026-06-02T08:00:00Z" });
    let zone = json!({ "zone": 1, "moisture_pct": 42.1, "low_pct": 40.0, "high_pct": 44.2 });
    let mut change = json!({
        "id": "tunnel-1/rate/1", "line": "tunnel-1", "product": "T800", "from_m_min": 1.1667, "to_m_min": 1.3,
        "remedy": "open-exhaust", "reason": "order of June", "balance": "tunnel-1/T800/1", "foretold": [zone],
        "carryover_chance_pct": 40.0, "proposed": signed, "agreed": [], "made": null, "outcome": null,
    });
    let keep = |change: &Value| {
        let record = store::RateChangeRecord {
            id: "tunnel-1/rate/1".into(),
            line: "tunnel-1".into(),
            state: "proposed".into(),
            proposed: reading::Timestamp::parse("2026-06-02T08:00:00Z").unwrap(),
            json: change.to_string(),
        };
        store.change_rate(|_| Ok::<_, store::StoreError>((record, ()))).unwrap();
    };
    keep(&change);
    wait_for("the rate change", || server.count("ovenward.rate_change") == 1);
    change["agreed"] = json!([{ "role": "process", "signed": signed }]);
    keep(&change);
    let agreed = "SELECT document->'agreed'->0->'signed'->>'by' FROM ovenward.rate_change";
    wait_for("the agreement", || server.psql(agreed) == "Ann");
    let row = server.rows("rate_change").remove(0);
    assert_eq!((&row["state"], &row["remedy"]), (&json!("proposed"), &json!("open-exhaust")));
    assert_same(vec![row["document"].clone()], vec![change], &[]);
}

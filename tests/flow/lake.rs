//! The service and the lake of all plants: nothing waits for it, and it gets what waited.

use serde_json::Value;

use crate::day::written_day;
use crate::plant::{Plant, wait_for};

#[test]
fn days_wait_while_the_lake_is_away_and_go_there_when_it_is_back() {
    let place = Plant::new();
    let (readings, day) = written_day(&place);
    place.printed(&["backfill", &day]);
    let (config, lake) = (place.path("plant.toml"), place.path("lake"));
    let text = std::fs::read_to_string(&config).unwrap();
    std::fs::write(&config, format!("{text}\n[lake]\nurl = \"file://{}\"\nevery_min = 0.1\n", lake.display())).unwrap();
    let away = place.run(&["lake"]);
    assert_eq!(away.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&away.stderr).contains("mount what belongs there"));

    let serving = place.serve();
    let problems = || -> Vec<Value> {
        let status: Value = serde_json::from_str(&place.get("/api/v1/status").unwrap()).unwrap();
        status["problems"].as_array().unwrap().clone()
    };
    wait_for("the lake to be missed", || problems().iter().any(|problem| problem.to_string().contains("the lake")));
    assert_eq!(place.get("/readyz").as_deref(), Some("ready"), "the service does its whole work");

    std::fs::create_dir(&lake).unwrap();
    let manifest = lake.join("manifests/site=millbrook/date=2026-06-02.json");
    wait_for("the day to be published", || manifest.exists());
    wait_for("the trouble to be over", || problems().is_empty());
    drop(serving);
    let summary: Value = serde_json::from_str(&place.printed(&["lake", "--format", "json"])).unwrap();
    assert_eq!((&summary["readings"], &summary["waiting"]), (&readings.len().into(), &serde_json::json!([])));
    assert!(place.printed(&["lake", "verify"]).contains("the lake is whole"));
    assert!(place.printed(&["lake", "push"]).starts_with("sent 0 objects"));
}

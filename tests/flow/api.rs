//! The API of the running program, as people of every role use it, and beside the commands, which say the same.

use std::fs;
use std::time::Duration;

use bakehouse::{Bakery, LoggerSample, RateChange, Response, Schedule, Simulation, What, travel};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};

use crate::day::play;
use crate::plant::Plant;
use crate::rate::learned;
use crate::visitor::{Visitor, add_user, serve};

/// The day after the history from which was learned.
const MORNING: &str = "2026-06-04T06:00:00Z";

/// Two hours and ten minutes of a new day, with a rise that nobody met.
fn play_a_rise(place: &Plant) {
    let start: DateTime<Utc> = MORNING.parse().unwrap();
    let rise = RateChange::sudden(14.0, TimeDelta::minutes(60), Response::NoVenting);
    let schedule = Schedule::quiet().with("tunnel-1", start + TimeDelta::minutes(90), What::RateChange(rise));
    let interval = Duration::from_secs(10);
    let mut simulation = Simulation::new(Bakery::millbrook_single(), &schedule, 3, start, interval).unwrap();
    let readings: Vec<_> = simulation.until(start + TimeDelta::minutes(130)).collect();
    play(place, &readings);
}

fn printed(place: &Plant, arguments: &[&str]) -> Value {
    serde_json::from_str(&place.printed(arguments)).unwrap()
}

#[test]
fn people_of_every_role_answer_through_the_api_and_a_kill_takes_nothing_back() {
    let place = learned();
    for role in ["viewer", "lead", "engineer", "admin"] {
        add_user(&place, role, role);
    }
    let serving = serve(&place);
    let stranger = Visitor::stranger(&place);
    assert_eq!(stranger.get("/api/v1/session").json(), json!({ "name": null, "role": null, "open": false }));
    stranger.get("/api/v1/lines").problem(401);
    let [viewer, lead, engineer] = ["viewer", "lead", "engineer"].map(|name| Visitor::signed_in(&place, name));
    assert_eq!(lead.get("/api/v1/session").json(), json!({ "name": "lead", "role": "lead", "open": false }));

    // A rise, found, told live, and answered.
    let mut events = viewer.listen(None);
    let (before, _) = events.next("status");
    play_a_rise(&place);
    let (raised, alert) = events.next("alert");
    assert_eq!((&alert["finding"], &alert["state"]), (&"carryover".into(), &"unacknowledged".into()));
    assert!(raised > before);
    let id = alert["id"].as_str().unwrap();
    let acknowledge = format!("/api/v1/alerts/{id}/acknowledge");
    viewer.post(&acknowledge, &json!({})).problem(403);
    let record = lead.post(&acknowledge, &json!({ "comment": "opening damper 2" })).json();
    assert_eq!(
        (&record["alert"]["state"], &record["alert"]["acknowledged_by"]),
        (&"acknowledged".into(), &"lead".into())
    );
    assert_eq!(record["review"], json!({ "rate_change": null, "words": "no review found" }));
    let (answered, alert) = events.next("alert");
    assert_eq!((answered > raised, &alert["state"]), (true, &"acknowledged".into()));
    let changed = viewer.get("/api/v1/status").json()["lines"][0]["band_speed_changed"].clone();
    let [from, to] = ["from_m_min", "to_m_min"].map(|end| changed[end].as_f64().unwrap_or_else(|| panic!("{changed}")));
    assert!((1.10..1.18).contains(&(to / from)), "{changed}");
    assert!(("2026-06-04T07:28".."2026-06-04T07:33").contains(&changed["at"].as_str().unwrap()), "{changed}");

    // A rate change from review to made, each step by who may take it.
    let asked = "line=tunnel-1&product=T800&speed_m_min=1.3";
    let review = viewer.get(&format!("/api/v1/rate-changes/review?{asked}")).json();
    let mut told =
        printed(&place, &["rate", "--line", "tunnel-1", "--product", "T800", "--speed", "1.3", "--format", "json"]);
    told["currency"] = "GBP".into();
    assert_eq!(review, told, "what the command says");
    assert!(viewer.get(&format!("/rate-changes/review?{asked}")).body.contains("<svg"));
    let proposal = json!({
        "line": "tunnel-1", "product": "T800", "speed_m_min": 1.3, "remedy": "open-exhaust", "reason": "order of June"
    });
    viewer.post("/api/v1/rate-changes", &proposal).problem(403);
    let record = lead.post("/api/v1/rate-changes", &proposal).json();
    assert_eq!((&record["id"], &record["state"]), (&"tunnel-1/rate/1".into(), &"proposed".into()), "{record}");
    let made = "/api/v1/rate-changes/tunnel-1/1/made";
    assert!(lead.post(made, &json!({})).problem(409).contains("not been agreed by production, process, maintenance"));
    for role in ["production", "process", "maintenance"] {
        let agree = "/api/v1/rate-changes/tunnel-1/1/agree";
        lead.post(agree, &json!({ "role": role })).problem(403);
        assert_eq!(engineer.post(agree, &json!({ "role": role })).status, 200);
        assert!(engineer.post(agree, &json!({ "role": role })).problem(409).contains("already"));
    }
    assert_eq!(lead.post(made, &json!({})).json()["state"], "made");
    assert!(lead.post("/api/v1/rate-changes/tunnel-1/1/follow-up", &json!({})).problem(409).contains("24 h"));

    // Killed; what was answered stands, who was signed in is not, and live events go on where they were.
    drop(serving);
    let _serving = serve(&place);
    lead.get("/api/v1/lines").problem(401);
    let [viewer, lead, engineer, admin] =
        ["viewer", "lead", "engineer", "admin"].map(|name| Visitor::signed_in(&place, name));
    let (number, alert) = viewer.listen(Some(raised)).next("alert");
    assert_eq!((number, &alert["id"], &alert["state"]), (answered, &id.into(), &"acknowledged".into()));
    let record = viewer.get("/api/v1/rate-changes/tunnel-1/1").json();
    assert_eq!((&record["state"], &record["made"]["by"]), (&"made".into(), &"lead".into()));
    let listed = viewer.get("/api/v1/rate-changes?state=made").json()["items"].clone();
    let mut kept = printed(&place, &["rate", "list", "--format", "json"]);
    for (name, value) in
        [("state", json!("made")), ("not_agreed", json!([])), ("look_from", record["look_from"].clone())]
    {
        kept[0][name] = value;
    }
    assert_eq!(listed, kept);

    // A normal that was learned again is put into use.
    place.printed(&["learn", "--line", "tunnel-1", "--product", "T800"]);
    let approve = "/api/v1/normals/tunnel-1/T800/2/approve";
    lead.post(approve, &json!({})).problem(403);
    assert_eq!(engineer.post(approve, &json!({})).json()["standing"], "approved");
    assert_eq!(viewer.get("/api/v1/normals/tunnel-1/T800/1").json()["standing"], "retired");

    let audit = admin.get("/api/v1/audit?limit=500").json();
    let kept: Vec<String> = audit["items"].as_array().unwrap().iter().rev().map(entry).collect();
    let agreed = ["engineer POST /api/v1/rate-changes/tunnel-1/1/agree: 200"; 3];
    let expected = [
        &["lead signed in".to_owned(), format!("lead POST {acknowledge}: 200")][..],
        &["lead POST /api/v1/rate-changes: 200".into(), format!("lead POST {made}: 409")],
        &agreed.map(Into::into),
        &[format!("lead POST {made}: 200"), "admin signed in".into(), format!("engineer POST {approve}: 200")],
    ]
    .concat();
    let mut rest = kept.iter();
    for entry in &expected {
        assert!(rest.any(|kept| kept == entry), "{entry:?} is missing or out of order in {kept:#?}");
    }
    assert!(!kept.iter().any(|entry| entry.starts_with("viewer POST")), "what was refused changed nothing: {kept:#?}");
}

fn entry(entry: &Value) -> String {
    format!("{} {}", entry["who"].as_str().unwrap(), entry["what"].as_str().unwrap())
}

#[test]
fn energy_and_runs_are_what_the_commands_say() {
    let place = learned();
    let serving = serve(&place);
    let anybody = Visitor::stranger(&place);

    let period = ["--from", "2026-06-02T05:00:00Z", "--to", "2026-06-03T13:00:00Z"];
    let asked = "from=2026-06-02T05:00:00Z&to=2026-06-03T13:00:00Z";
    for by in ["shift", "day", "month", "product"] {
        let account = anybody.get(&format!("/api/v1/energy/tunnel-1?{asked}&by={by}")).json();
        let told = printed(&place, &[&["energy", "--by", by, "--format", "json"][..], &period].concat());
        assert_eq!(account["records"], told, "by {by}");
        let whole = &account["whole"];
        assert!(whole["kwh_per_t"].as_f64().unwrap() > 100.0 && whole["zone3_moisture_pct"].is_number(), "{whole}");
        assert_eq!((&account["factors"]["gas_basis"], &account["baseline"]), (&"net".into(), &Value::Null));
    }
    let csv = anybody.get(&format!("/api/v1/energy/tunnel-1/csv?{asked}"));
    assert_eq!(csv.body, place.printed(&[&["energy", "--format", "csv"][..], &period].concat()));
    let columns = anybody.get("/api/v1/energy/columns").json();
    let names: Vec<&str> = columns.as_array().unwrap().iter().map(|column| column["name"].as_str().unwrap()).collect();
    assert_eq!(names, csv.body.lines().next().unwrap().split(',').collect::<Vec<_>>());
    let refused =
        anybody.get(&format!("/api/v1/energy/tunnel-1?{asked}&baseline_from=2026-06-02&baseline_to=2026-06-04"));
    let refused = refused.json();
    assert!(refused["baseline"]["refused"].as_str().unwrap().contains("complete records"), "{}", refused["baseline"]);
    assert!(refused["saving"].is_null());
    anybody.get("/api/v1/energy/tunnel-1?from=2020-01-01T00:00:00Z&to=2020-02-01T00:00:00Z").problem(404);
    let long = "baseline_from=1970-01-01&baseline_to=2026-01-01";
    assert!(anybody.get(&format!("/api/v1/energy/tunnel-1?{long}")).problem(400).contains("400 days"));

    // A logger goes through the plant, twice.
    let text = run_file("2026-06-02T06:00:00Z");
    let send =
        |query: &str, text: &str| anybody.ask("POST", &format!("/api/v1/transit-runs?{query}"), "text/csv", text);
    assert!(send("", &text).problem(400).contains("time_column"), "{}", send("", &text).body);
    let columns = "time_column=at&temperature_column=air&dew_point_column=dew&separator=%3B";
    let taken = send(&format!("{columns}&injectors_m=0.3,0.6"), &format!("{text}not a row\n")).json();
    assert_eq!(taken["left_out"]["rows"], 1, "{}", taken["left_out"]);
    let id = taken["run"]["id"].as_str().unwrap();
    let told = printed(&place, &["transit", "show", id, "--format", "json"]);
    assert_eq!(anybody.get(&format!("/api/v1/transit-runs/{id}")).json(), told);
    assert_eq!(taken["run"], told);
    let second = send(columns, &run_file("2026-06-02T10:00:00Z")).json();
    let other = second["run"]["id"].as_str().unwrap();
    let compared = anybody.get(&format!("/api/v1/transit-runs/compare?before={id}&after={other}")).json();
    assert_eq!((&compared["alike"], &compared["before"]["id"]), (&true.into(), &id.into()));
    assert!(
        compared["rows"].as_array().unwrap().iter().any(|row| row["what"] == "zone 4" && row["change"].is_number())
    );
    let listed = anybody.get("/api/v1/transit-runs").json();
    assert_eq!(listed["items"].as_array().unwrap().iter().map(|run| &run["id"]).collect::<Vec<_>>(), [other, id]);
    assert_eq!(anybody.get(&format!("/transit-runs/{id}")).body.matches("<svg").count(), 4);
    // Samples of sixty years would be sixty years of looking into the store.
    let ages = "at;air;dew\n1970-01-01T00:00:00Z;20;10\n2026-06-02T06:00:00Z;200;60\n";
    assert!(send(columns, ages).problem(400).contains("leave in the file only the day"));

    // Without a balance the review says what is missing and what can be said all the same.
    drop(serving);
    fs::remove_dir_all(place.path("data/balances")).unwrap();
    let config = fs::read_to_string(place.path("plant.toml")).unwrap();
    fs::write(place.path("plant.toml"), config.replace("dough_kg_per_m = 13.0\n", "")).unwrap();
    let _serving = serve(&place);
    let told = anybody.get("/api/v1/rate-changes/review?line=tunnel-1&product=T800&speed_m_min=1.3").problem(409);
    assert!(
        told.contains("[[product]] T800 has no dough_kg_per_m") && told.contains("What can still be said"),
        "{told}"
    );
    anybody.get("/api/v1/rate-changes/review?line=tunnel-1&product=X99&speed_m_min=1.3").problem(404);
}

/// The file of a logger that enters the plant of the history at this time, under column names of its own.
fn run_file(enters: &str) -> String {
    let enters: DateTime<Utc> = enters.parse().unwrap();
    let interval = Duration::from_secs(10);
    let begins = enters - TimeDelta::minutes(60);
    let mut simulation = Simulation::new(Bakery::millbrook_single(), &Schedule::quiet(), 3, begins, interval).unwrap();
    let pressure = physics::air::station_pressure(physics::units::Metre(95.0)).unwrap();
    let samples = travel(&mut simulation, 0, enters, None, pressure).unwrap();
    let row = |sample: &LoggerSample| {
        format!("{};{:.2};{:.2}\n", sample.time.to_rfc3339(), sample.temperature_c, sample.dew_point_c)
    };
    format!("at;air;dew\n{}", samples.iter().map(row).collect::<String>())
}

//! History from a historian's database: the same as from files, also when it is killed in the middle, and never written to.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use bakehouse::PlantReading;

use crate::content::{baked, begins, csv, load};
use crate::plant::{Plant, wait_for};
use crate::process::Running;
use crate::server::Server;

pub(crate) const QUERY: &str = "SELECT sampled_at AS time, tag_name AS tag, reading AS value FROM samples WHERE sampled_at >= $1 AND sampled_at < $2";

/// A historian's table, with the readings and a few that give none; a user who may read it.
pub(crate) fn fill(server: &Server, readings: &[PlantReading]) {
    server.psql_in("postgres", "CREATE DATABASE historian");
    let table = "CREATE TABLE samples (sampled_at timestamptz NOT NULL, tag_name text, reading text)";
    let reader = "CREATE ROLE historian LOGIN PASSWORD 'over the oven'; GRANT SELECT, INSERT ON samples TO historian";
    server.psql_in("historian", &format!("{table}; {reader}; CREATE INDEX ON samples (sampled_at)"));
    server.write("samples.csv", &csv(readings));
    let copy = format!("COPY samples FROM '{}' (FORMAT csv, HEADER)", server.path("samples.csv").display());
    server.psql_in("historian", &copy);
    let bad = "INSERT INTO samples VALUES ('2026-06-02T06:00:30Z', 'mill/unknown', '1'), ('2026-06-03T20:00:30Z', 'mill/tunnel-1/band', NULL)";
    server.psql_in("historian", bad);
}

/// `backfill --sql` from that table, with its password in the environment.
pub(crate) fn backfill(server: &Server, place: &Plant, query: &str, further: &[&str]) -> Command {
    let url = format!("postgres://historian@127.0.0.1:{}/historian", server.port);
    let mut command = place.program(&["backfill", "--sql", &url, "--query", query]);
    command.args(further).env("PGPASSWORD", "over the oven").current_dir(place.path(""));
    command
}

pub(crate) fn words(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

#[test]
fn history_from_a_database_is_that_of_a_file_also_when_it_is_killed_in_the_middle() {
    let (server, place, other) = (Server::new(), Plant::new(), Plant::new());
    let readings = baked(50);
    fill(&server, &readings);
    load(&other, &readings);

    let chunks = ["--from", "2026-06-02T05:00:00Z", "--to", "2026-06-04T07:00:00Z", "--chunk", "2min"];
    let mut loading = backfill(&server, &place, QUERY, &chunks);
    let loading = Running(loading.stdout(Stdio::null()).spawn().unwrap());
    wait_for("a part to be loaded", || parts_noted(&place) > 20);
    drop(loading);
    let noted = parts_noted(&place);
    assert!(noted < 25 * 30, "it was killed in the middle, after {noted} of 1500 chunks");
    let output = backfill(&server, &place, QUERY, &chunks).output().unwrap();
    let told = words(&output);
    assert!(output.status.success() && told.starts_with("a load that was broken off goes on at 2026-06-02T"), "{told}");
    assert!(told.contains(" rows stored, ") && told.contains("historian.rejected.csv"), "{told}");
    let rejected = fs::read_to_string(place.path("historian.rejected.csv")).unwrap();
    for reason in ["no signal has the tag \"\"mill/unknown\"\"", "mill/tunnel-1/band,,"] {
        assert!(rejected.contains(reason), "{rejected}");
    }
    assert_eq!(rejected.lines().count(), 3, "{rejected}");
    assert!(exported(&place) == exported(&other), "the same readings, to the last byte");

    // Again, and asked for everything: nothing is new.
    let output = backfill(&server, &place, QUERY, &[]).output().unwrap();
    let told = words(&output);
    assert!(told.contains(&format!(": 0 rows stored, {} already there, 2 rejected", readings.len())), "{told}");
    assert!(!told.contains("broken off"), "{told}");
}

/// How many chunks of two minutes the store says are there.
fn parts_noted(place: &Plant) -> i64 {
    let settings = ovenward::config::load(&place.path("plant.toml")).unwrap();
    if !settings.data_dir.join("hot.db").exists() {
        return 0;
    }
    let store = store::Store::open(&settings.data_dir, &settings.plant).unwrap();
    let notes = store.metas("backfill-sql/").unwrap();
    let Some((_, json)) = notes.first().filter(|(_, json)| !json.is_empty()) else { return 0 };
    let progress: serde_json::Value = serde_json::from_str(json).unwrap();
    let done: chrono::DateTime<chrono::Utc> = progress["done"].as_str().unwrap().parse().unwrap();
    (done - begins()).num_minutes() / 2
}

/// Every reading, as `export` writes it.
fn exported(place: &Plant) -> Vec<(String, Vec<u8>)> {
    let folder = place.path("readings");
    place.printed(&["export", "--what", "readings", "--format", "csv", "--out", folder.to_str().unwrap()]);
    let file = |path: &Path| (path.file_name().unwrap().to_string_lossy().into_owned(), fs::read(path).unwrap());
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| file(&entry.unwrap().path())).collect();
    files.sort();
    assert!(files.len() >= 3);
    files
}

#[test]
fn every_type_of_a_historian_is_read_as_it_is_meant() {
    let (server, place) = (Server::new(), Plant::new());
    fill(&server, &[]);
    let tables = "
        CREATE TABLE seconds (s double precision, tag varchar(40), value real);
        INSERT INTO seconds VALUES (1780376400.25, 'mill/tunnel-1/band', 1.17), (1780376401, 'mill/tunnel-1/band', 1.21);
        CREATE TABLE switched (at timestamp, tag char(20), value boolean);
        INSERT INTO switched VALUES ('2026-06-02 06:00:05', 'mill/tunnel-1/feed', true);
        CREATE TABLE counted (at timestamptz, tag text, value numeric(12, 4), quality integer);
        INSERT INTO counted VALUES ('2026-06-02T05:00:07.123456Z', 'mill/tunnel-1/gas', 61.2500, 64);
        GRANT SELECT ON seconds, switched, counted TO historian";
    server.psql_in("historian", tables);
    let queries = [
        "SELECT s AS time, tag, value FROM seconds WHERE s >= extract(epoch FROM $1) AND s < extract(epoch FROM $2)",
        "SELECT at AT TIME ZONE 'Europe/London' AS time, tag, value FROM switched
         WHERE at AT TIME ZONE 'Europe/London' >= $1 AND at AT TIME ZONE 'Europe/London' < $2 -- the wall clock",
        "WITH these AS (SELECT * FROM counted) SELECT at AS time, tag, value, quality FROM these WHERE at >= $1 AND at < $2;",
    ];
    for query in queries {
        let output = backfill(&server, &place, query, &["--to", "2026-06-03"]).output().unwrap();
        assert!(output.status.success() && words(&output).contains(", 0 rejected"), "{query}: {}", words(&output));
    }
    let folder = place.path("readings");
    place.printed(&["export", "--what", "readings", "--format", "csv", "--out", folder.to_str().unwrap()]);
    let day = fs::read_to_string(folder.join("readings-tunnel-1-2026-06-02.csv")).unwrap();
    for row in [
        "2026-06-02T05:00:00.250Z,mill/tunnel-1/band,1.17,good",
        "2026-06-02T05:00:01.000Z,mill/tunnel-1/band,1.21,good",
        "2026-06-02T05:00:05.000Z,mill/tunnel-1/feed,1,good",
        "2026-06-02T05:00:07.123Z,mill/tunnel-1/gas,61.25,uncertain",
    ] {
        assert!(day.contains(row), "{row} in\n{day}");
    }
    assert_eq!(day.lines().count(), 5, "{day}");
}

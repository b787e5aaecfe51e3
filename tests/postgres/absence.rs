//! Whatever is killed or away while rows are written: in the end they are there, once, as the commands print them.

use std::process::{Command, Stdio};
use std::time::Duration;

use chrono::TimeDelta;

use crate::content::{assert_shifts, baked, begins, load, wait_for_shifts};
use crate::plant::{Plant, wait_for};
use crate::process::Running;
use crate::server::Server;

#[test]
fn a_service_killed_while_it_writes_goes_on_where_it_stopped() {
    let (server, place) = (Server::new(), Plant::new());
    server.write_into(&place, &server.url(), "");
    load(&place, &baked(74));
    let mut unfinished = Vec::new();
    for round in 0..12 {
        let serving = Running(place.program(&["serve"]).stderr(Stdio::null()).spawn().unwrap());
        let before = written(&server);
        wait_for("a shift to be written", || written(&server) > before || written(&server) == 18);
        std::thread::sleep(Duration::from_millis(37 * round));
        // The owner kills it with the signal that nobody can catch.
        drop(serving);
        unfinished.push(written(&server));
        if unfinished.last() == Some(&18) {
            break;
        }
    }
    assert!(unfinished.len() > 2, "it was killed in the middle: {unfinished:?}");
    eprintln!("killed after these shifts and records of 18: {unfinished:?}");
    let _serving = place.serve();
    wait_for_shifts(&server, 9);
    assert_shifts(&server, &place, 9);
}

/// Shifts and records of which the database says that they are there.
fn written(server: &Server) -> i64 {
    if !server.is_made() {
        return 0;
    }
    let start = begins();
    let hours = format!(
        "SELECT coalesce(sum(extract(epoch FROM until - '{start}')) / 3600, 0)::integer FROM ovenward.position WHERE line <> ''"
    );
    server.psql(&hours).parse::<i64>().unwrap() / 8
}

#[test]
fn a_database_that_was_away_for_shifts_lacks_nothing_when_it_is_back() {
    let (server, place) = (Server::new(), Plant::new());
    server.write_into(&place, &server.url(), "");
    let readings = baked(74);
    let (first, rest): (Vec<_>, Vec<_>) = readings.iter().partition(|at| at.time < begins() + TimeDelta::hours(26));
    load(&place, first);
    let _serving = place.serve();
    wait_for_shifts(&server, 3);
    assert_eq!(place.metric("ovenward_database_connected"), Some(1.0));
    server.stop();
    load(&place, rest.iter().copied());
    let told = || place.get("/api/v1/status").unwrap_or_default();
    wait_for("the trouble", || told().contains("nothing is written into the database, what it lacks is in the store"));
    assert_eq!(place.get("/readyz").as_deref(), Some("ready"), "it hinders nothing");
    assert_eq!(place.metric("ovenward_database_connected"), Some(0.0));
    server.start();
    wait_for_shifts(&server, 9);
    assert_shifts(&server, &place, 9);
    wait_for("the trouble to be over", || !told().contains("into the database"));

    written_again_when_readings_came_late(&server, &place);
    left_when_it_says_nothing(&server, &told);
}

/// A server that has stopped with the connection open: it is not gone, and answers no more.
fn left_when_it_says_nothing(server: &Server, told: &dyn Fn() -> String) {
    let ours = "SELECT pid FROM pg_stat_activity WHERE usename = 'ovenward'";
    let process = server.psql(ours);
    let signal = |signal: &str| assert!(Command::new("kill").args([signal, &process]).status().unwrap().success());
    signal("-STOP");
    wait_for("the trouble", || told().contains("it has not answered for 30 s"));
    // It is replaced by another connection, whatever becomes of it.
    wait_for("the trouble to be over", || !told().contains("into the database"));
    signal("-CONT");
}

/// What lies in the store and not in the database, and the other way round, after the service has passed by.
fn written_again_when_readings_came_late(server: &Server, place: &Plant) {
    let shift = begins() + TimeDelta::hours(16);
    let here = format!("site = 'millbrook' AND starts = '{shift}'");
    server.psql(&format!("UPDATE ovenward.shift SET moisture_pct_mean = 0, alerts = 9 WHERE {here}"));
    server.psql(&format!("UPDATE ovenward.energy SET gas_m3 = 0 WHERE {here}"));
    // A product that the readings of that time do not know any more, and the same shift of somebody else.
    let copies = "CREATE TEMP TABLE copy AS SELECT * FROM ovenward.shift";
    let gone = "UPDATE copy SET product = 'GONE'; INSERT INTO ovenward.shift SELECT * FROM copy";
    let other = "UPDATE copy SET site = 'elsewhere', product = 'KEPT'; INSERT INTO ovenward.shift SELECT * FROM copy";
    server.psql(&format!("{copies} WHERE {here}; {gone}; {other}"));
    let period = ["--from", "2026-06-02T21:00:00Z", "--to", "2026-06-03T05:00:00Z"];
    let told = place.printed(&[&["sql", "push"][..], &period].concat());
    assert!(told.contains("energy of tunnel-1: 1 rows of 1 shifts"), "{told}");
    assert_shifts(server, place, 9);
    assert_eq!(server.psql("SELECT count(*) > 3 FROM ovenward.shift WHERE site = 'elsewhere'"), "t");
    assert_eq!(server.count("ovenward.shift WHERE product = 'GONE'"), 0);
}

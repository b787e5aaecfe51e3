//! Two plants share one database, which neither of them has seen before.

use std::fs;
use std::process::Stdio;

use crate::content::{baked, load};
use crate::plant::Plant;
use crate::process::Running;
use crate::server::Server;

#[test]
fn two_plants_that_come_at_the_same_moment_make_the_tables_once_and_keep_apart() {
    let server = Server::new();
    let readings = baked(9);
    let places = ["millbrook", "ashford"].map(|site| {
        let place = Plant::new();
        let config = fs::read_to_string(place.path("plant.toml")).unwrap();
        fs::write(place.path("plant.toml"), config.replace("id = \"millbrook\"", &format!("id = \"{site}\""))).unwrap();
        server.write_into(&place, &server.url(), "write = [\"shifts\"]");
        load(&place, &readings);
        place
    });
    let pushing = |place: &Plant| Running(place.program(&["sql", "push"]).stdout(Stdio::null()).spawn().unwrap());
    for mut pushing in places.each_ref().map(pushing) {
        assert!(pushing.0.wait().unwrap().success());
    }
    assert_eq!(server.count("ovenward.migration"), 1);
    let sites = server.psql("SELECT site, count(*) FROM ovenward.shift GROUP BY site ORDER BY site");
    assert_eq!(sites, "ashford|4\nmillbrook|4", "four zones and one product each");
    assert_eq!(server.count("ovenward.energy"), 0, "only what is asked for is written");

    read_by_those_who_may(&server);
}

/// The role that is shipped for dashboards reads what the service made, and writes nothing.
fn read_by_those_who_may(server: &Server) {
    let read = "SET ROLE ovenward_reader; SELECT count(*) FROM ovenward.shift, ovenward.migration";
    assert_eq!(server.psql(read), "8");
    let refused = server.refused_to("ovenward_reader", "DELETE FROM ovenward.shift");
    assert!(refused.contains("permission denied"), "{refused}");
}

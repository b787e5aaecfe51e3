//! The commands without a broker: exit status and what they say.

use std::fs;

use crate::plant::Plant;

#[test]
fn a_second_backfill_stores_nothing_and_rejected_rows_are_written_down() {
    let place = Plant::new();
    let file = place.path("history.csv");
    let rows = "time,tag,value\n\
        2026-06-02T06:00:00Z,mill/tunnel-1/band,1.21\n\
        2026-06-02T06:00:10Z,mill/tunnel-1/band,1.22\n\
        2026-06-02T06:00:00Z,mill/tunnel-1/product,T800\n\
        2026-06-02T06:00:20Z,mill/tunnel-9/band,1.22\n\
        yesterday,mill/tunnel-1/band,1.22\n";
    fs::write(&file, rows).unwrap();
    let name = file.to_str().unwrap();
    assert!(place.printed(&["backfill", name]).contains("3 rows stored, 0 already there, 2 rejected"));
    assert!(place.printed(&["backfill", name]).contains("0 rows stored, 3 already there, 2 rejected"));
    let rejected = fs::read_to_string(place.path("history.csv.rejected.csv")).unwrap();
    assert!(rejected.contains("no signal has the tag \"\"mill/tunnel-9/band\"\""), "{rejected}");
    assert!(rejected.contains("\"\"yesterday\"\" is no time; write 2026-11-02T06:00:00Z"), "{rejected}");
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let place = Plant::new();
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let status =
        place.program(&["air", "--temperature", "220degC", "--moisture", "40%"]).stdout(writer).status().unwrap();
    assert_eq!(status.code(), Some(0));
}

#[test]
fn what_has_no_data_says_so_with_status_3_and_what_is_wrong_with_status_2() {
    let place = Plant::new();
    for arguments in [&["alerts"][..], &["learn"], &["normals"], &["shifts"], &["replay"]] {
        let output = place.run(arguments);
        assert_eq!(output.status.code(), Some(3), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    }
    assert_eq!(place.run(&["shifts", "--line", "tunnel-9"]).status.code(), Some(2));
    assert_eq!(place.run(&["shifts", "--shift", "midday"]).status.code(), Some(2));
    assert_eq!(place.run(&["alerts", "--from", "noon"]).status.code(), Some(2));
    assert_eq!(place.run(&["no-such-command"]).status.code(), Some(2));
    fs::write(place.path("plant.toml"), "[site]\nid = \"Mill Brook\"\n").unwrap();
    let output = place.run(&["check"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("plant.toml:2:"));
}

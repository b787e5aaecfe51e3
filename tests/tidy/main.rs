//! The rules of the house that no compiler holds: who may depend on whom, and that the guide names every package.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use serde_json::Value;

/// The normal dependencies of every package of the workspace, by name.
fn dependencies() -> BTreeMap<String, BTreeSet<String>> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let arguments = ["metadata", "--format-version=1", "--no-deps", "--offline"];
    let output = Command::new(cargo).args(arguments).current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/..")).output();
    let output = output.expect("cargo runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let packages = metadata["packages"].as_array().expect("packages");
    let text = |value: &Value| value.as_str().map(str::to_owned);
    packages
        .iter()
        .map(|package| {
            let used = package["dependencies"].as_array().expect("dependencies").iter();
            let used = used.filter(|dependency| dependency["kind"].is_null());
            (text(&package["name"]).expect("a name"), used.filter_map(|dependency| text(&dependency["name"])).collect())
        })
        .collect()
}

#[test]
fn pure_crates_know_no_runtime_and_no_network() {
    let all = dependencies();
    for pure in ["physics", "reading", "sparkplug", "normal-profile", "alert", "balance", "shift-profile"] {
        for forbidden in ["tokio", "rumqttc", "rusqlite", "axum", "store", "broker", "web", "ovenward"] {
            assert!(!all[pure].contains(forbidden), "{pure} uses {forbidden}");
        }
    }
    assert!(all["physics"].is_empty(), "physics is std only, and uses {:?}", all["physics"]);
}

#[test]
fn those_that_touch_the_world_do_not_know_each_other() {
    let all = dependencies();
    let worldly = ["broker", "store", "web", "notice", "sql", "lake"];
    for one in worldly {
        for other in worldly {
            assert!(!all[one].contains(other), "{one} uses {other}");
        }
    }
}

#[test]
fn each_large_library_has_one_home() {
    let homes = [
        ("polars", vec!["shift-profile"]),
        ("linfa", vec!["normal-profile"]),
        ("rusqlite", vec!["store"]),
        ("axum", vec!["web"]),
        ("prost", vec!["sparkplug"]),
        ("lettre", vec!["notice"]),
        ("tokio-postgres", vec!["sql"]),
        ("object_store", vec!["lake"]),
        // The simulated plant is a client of its own, as a plant is.
        ("rumqttc", vec!["bakehouse", "broker"]),
    ];
    let all = dependencies();
    for (library, homes) in homes {
        let users: Vec<&str> =
            all.iter().filter(|(_, used)| used.contains(library)).map(|(name, _)| name.as_str()).collect();
        assert_eq!(users, homes, "who uses {library}");
    }
}

#[test]
fn the_guide_names_every_package() {
    let guide = include_str!("../../DEVELOPERS.md");
    for package in dependencies().keys() {
        assert!(guide.contains(&format!("| `{package}` |")), "DEVELOPERS.md has no row for {package}");
    }
}

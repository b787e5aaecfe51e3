//! The same question asked twice of the same store has the same answer, to the last byte; and every table that is
//! exported says what its columns mean.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use crate::history::{answered, load};
use crate::plant::Plant;

const QUESTIONS: &[&[&str]] = &[
    &["shifts"],
    &["shifts", "--format", "json"],
    &["normals"],
    &["normals", "show", "tunnel-1/T800/1"],
    &["store", "verify", "--format", "json"],
    &["energy"],
    &["energy", "--by", "day", "--format", "csv"],
    &["energy", "--by", "product", "--format", "json"],
    &["energy", "--dictionary"],
    &["rate", "--line", "tunnel-1", "--product", "T800", "--speed", "1.3"],
    &["rate", "--line", "tunnel-1", "--product", "T800", "--speed", "1.3", "--format", "json"],
    &["rate", "--line", "tunnel-1", "--product", "T800", "--bake-time", "21", "--format", "html"],
];

#[test]
fn every_answer_is_computed_again_to_the_last_byte() {
    let readings = answered();
    let [place, other] = [(); 2].map(|()| {
        let place = Plant::new();
        load(&place, &readings);
        place.printed(&["learn"]);
        place
    });
    for kind in ["normals", "balances"] {
        let of = |place: &Plant| files(&place.path("data").join(kind));
        assert_eq!(of(&place).len(), 1, "{kind}");
        assert!(of(&place) == of(&other), "{kind} learned twice from the same readings differ");
    }
    place.printed(&["normals", "approve", "tunnel-1/T800/1"]);
    let copy = place.path("copy");
    place.printed(&["store", "backup", copy.to_str().unwrap()]);
    assert!(files(&copy.join("balances")) == files(&place.path("data/balances")), "a copy has what was learned");
    for question in QUESTIONS {
        assert_eq!(place.printed(question), place.printed(question), "{question:?}");
    }
    let replayed = |_| place.printed(&["replay", place.path("history.csv").to_str().unwrap(), "--format", "jsonl"]);
    let [first, again] = [(); 2].map(replayed);
    assert_eq!(first, again, "replay");
    for what in ["readings", "shifts", "energy"] {
        for format in ["csv", "parquet"] {
            let export = |name: &str| {
                let folder = place.path(&format!("{name}-{what}-{format}"));
                place.printed(&["export", "--what", what, "--format", format, "--out", folder.to_str().unwrap()]);
                files(&folder)
            };
            let first = export("first");
            assert!(first == export("again"), "{what} as {format}");
            if format == "csv" {
                every_column_is_explained(what, &first);
            }
        }
    }
}

fn every_column_is_explained(what: &str, exported: &BTreeMap<PathBuf, Vec<u8>>) {
    let text = |ends: &str| {
        let found = exported.iter().find(|(path, _)| path.to_str().unwrap().ends_with(ends));
        String::from_utf8(found.unwrap_or_else(|| panic!("{what}: no {ends}")).1.clone()).unwrap()
    };
    let (table, dictionary) = (text(".csv"), text("-columns.md"));
    let columns: Vec<&str> = table.lines().next().unwrap().split(',').collect();
    assert!(columns.len() >= 4 && table.lines().count() > 1, "{what}: {columns:?}");
    for column in &columns {
        let row = dictionary.lines().find(|line| line.starts_with(&format!("| `{column}` |")));
        let meaning =
            row.unwrap_or_else(|| panic!("{what}: {column} is not in the dictionary")).split('|').nth(4).unwrap();
        assert!(meaning.trim().len() > 10, "{column}: {meaning}");
    }
    assert_eq!(dictionary.lines().count(), columns.len() + 2, "{what}: and nothing else is");
}

/// Every file below a folder, with its path from there.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                found.insert(path.strip_prefix(folder).unwrap().to_owned(), fs::read(&path).unwrap());
            }
        }
    }
    found
}

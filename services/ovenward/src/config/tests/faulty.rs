//! Every example of a mistake, against the exact message it must give.

use super::*;

#[test]
fn every_faulty_example_gives_its_message() {
    let folder = examples_folder().join("faulty");
    let mut examples: Vec<PathBuf> = fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        .collect();
    examples.sort();
    assert!(examples.len() >= 18, "{} examples", examples.len());
    let mut differences = String::new();
    for example in examples {
        let text = fs::read_to_string(&example).unwrap();
        let found = match parse(&text, Path::new(example.file_name().unwrap())) {
            Ok(_) => "it was accepted\n".to_owned(),
            Err(faults) => format!("{faults}\n"),
        };
        let expected = fs::read_to_string(example.with_extension("expected")).unwrap_or_default();
        if found != expected {
            differences.push_str(&format!("expected:\n{expected}\nfound:\n{found}\n"));
        }
    }
    assert!(differences.is_empty(), "{differences}");
}

#[test]
fn every_message_has_its_example() {
    for entry in fs::read_dir(examples_folder().join("faulty")).unwrap() {
        let path = entry.unwrap().path();
        assert!(path.with_extension("toml").exists(), "{} has no example", path.display());
    }
}

#[test]
fn ten_faults_are_told_at_once() {
    let text = fs::read_to_string(examples_folder().join("faulty/many-faults.toml")).unwrap();
    assert_eq!(read(&text).unwrap_err().faults.len(), 10);
}

#[test]
fn a_fault_in_the_defaults_is_told_once_for_a_hundred_lines() {
    let lines: String = (1..=100).map(|number| format!("[[line]]\nid = \"tunnel-{number}\"\n")).collect();
    let text = format!(
        "[site]\nid = \"millbrook\"\ntime_zone = \"UTC\"\nelevation_m = 95\n[broker]\nurl = \"mqtt://127.0.0.1\"\n\
         [[product]]\ncode = \"T800\"\n[defaults.line]\nfiring = \"direct\"\nzones = 4\n\
         [defaults.line.signals]\nband_speed = \"mill/{{line}}/band\"\n[defaults.zone]\nlength_m = 7\n\
         [defaults.zone.signals]\ndew_point = {{ topic = \"mill/{{line}}/z{{zone}}/dew\", unit = \"degX\" }}\n{lines}"
    );
    assert_eq!(read(&text).unwrap_err().faults.len(), 1);
    assert_eq!(read(&text.replace("degX", "degF")).unwrap().plant.signals.len(), 500);
}

#[test]
fn a_file_that_is_not_there_is_a_fault_of_its_own() {
    let faults = load(Path::new("no-such-plant.toml")).unwrap_err();
    assert_eq!(
        faults.to_string(),
        "no-such-plant.toml:1:1: there is no such file\n    write: the path of the config after --config"
    );
}

//! However the example is damaged, the answer is settings or faults with a place, never a panic.

use super::*;

/// Reads a damaged text and checks that every fault is one that a person can act on.
fn faults_of(text: &str) -> Vec<Fault> {
    let Err(ConfigFaults { faults }) = read(text) else { return Vec::new() };
    assert!(!faults.is_empty(), "refused without a fault:\n{text}");
    for fault in &faults {
        let lines = text.lines().count() + 1;
        assert!((1..=lines).contains(&fault.line) && fault.column >= 1, "{fault} is outside of {lines} lines");
        assert!(!fault.message.is_empty() && !fault.advice.is_empty(), "{fault}");
    }
    faults
}

fn without_line(text: &str, number: usize) -> String {
    let kept = text.lines().enumerate().filter(|(index, _)| *index != number);
    kept.map(|(_, line)| format!("{line}\n")).collect()
}

#[test]
fn any_single_line_may_go() {
    let example = example();
    let refused = (0..example.lines().count()).filter(|line| !faults_of(&without_line(&example, *line)).is_empty());
    // id, time zone, elevation, url, ...: if nothing were refused, nothing would have been deleted.
    assert!(refused.count() >= 8);
}

#[test]
fn any_single_key_may_be_misspelt_and_is_found() {
    let example = example();
    let mut misspelt = 0;
    for (index, line) in example.lines().enumerate() {
        let Some((key, _)) = line.split_once('=').filter(|_| !line.starts_with('#')) else { continue };
        let key = key.trim();
        for wrong in [&key[..key.len() - 1], &format!("{key}x"), &format!("x{key}"), &key.replacen('_', "-", 1)] {
            if wrong.is_empty() || wrong == key {
                continue;
            }
            let damaged = line.replacen(key, wrong, 1);
            let text: String = example
                .lines()
                .enumerate()
                .map(|(other, line)| format!("{}\n", if other == index { &damaged } else { line }))
                .collect();
            let faults = faults_of(&text);
            let found = faults.iter().any(|fault| fault.line == index + 1 && fault.message.contains(wrong));
            assert!(found, "{wrong:?} in line {} passed: {faults:?}", index + 1);
            misspelt += 1;
        }
    }
    assert!(misspelt >= 100, "{misspelt} keys");
}

#[test]
fn a_misspelt_key_is_one_fault_that_names_the_right_one() {
    for key in ["time_zone", "elevation_m", "code", "firing", "length_m", "band_speed", "dew_point"] {
        let wrong = format!("{key}x");
        let faults = faults_of(&SMALLEST.replacen(key, &wrong, 1));
        let told: Vec<(&str, bool)> =
            faults.iter().map(|fault| (fault.advice.as_str(), fault.message.contains(&wrong))).collect();
        assert_eq!(told, [(key, true)]);
    }
}

#[test]
fn the_text_may_end_anywhere() {
    let example = example();
    for end in (0..example.len()).step_by(17).filter(|end| example.is_char_boundary(*end)) {
        faults_of(&example[..end]);
    }
}

#[test]
fn any_character_may_be_another() {
    let reference = SMALLEST;
    for (at, old) in reference.char_indices() {
        for new in ['"', '[', '=', '{', '\n', 'é', '-', '0'] {
            faults_of(&format!("{}{new}{}", &reference[..at], &reference[at + old.len_utf8()..]));
        }
    }
}

#[test]
fn no_section_is_passed_over_for_being_a_value() {
    for section in ["site", "broker", "shift", "product", "line", "publish", "costs", "store", "defaults"] {
        for value in ["5", "[5]", "\"\"", "false"] {
            let faults = faults_of(&format!("{section} = {value}\n{}", SMALLEST.replace(&format!("[{section}"), "[x")));
            assert!(faults.iter().any(|fault| fault.line == 1), "{section} = {value}: {faults:?}");
        }
    }
}

#[test]
fn any_value_may_be_of_another_kind() {
    for value in ["1", "-1e300", "nan", "\"\"", "\"é\"", "true", "[]", "[1]", "{}", "{ a = 1 }", "06:00:00"] {
        for line in SMALLEST.lines().filter(|line| line.contains('=')) {
            let key = line.split_once('=').unwrap().0;
            faults_of(&SMALLEST.replacen(line, &format!("{key}= {value}"), 1));
        }
    }
}

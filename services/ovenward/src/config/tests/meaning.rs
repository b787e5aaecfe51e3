//! What a config means: units, topics, tags, defaults and limits.

use reading::{PayloadFormat, Quantity, Signal, Span};

use super::*;

/// The smallest config with one of its texts replaced.
fn with(old: &str, new: &str) -> Result<Settings, ConfigFaults> {
    assert!(SMALLEST.contains(old), "{old}");
    read(&SMALLEST.replacen(old, new, 1))
}

fn signal(settings: &Settings, quantity: Quantity) -> Signal {
    let found = settings.plant.signals.iter().find(|(_, signal)| signal.quantity == quantity);
    found.unwrap().1.clone()
}

const DEW: &str = "dew_point = \"mill/{line}/z{zone}/dew\"";
const BAND: &str = "band_speed = \"mill/{line}/band\"";

#[test]
fn a_text_alone_is_a_topic_in_the_first_unit() {
    let settings = read(SMALLEST).unwrap();
    let dew = signal(&settings, Quantity::DewPoint);
    assert_eq!((dew.topic.as_str(), &*dew.tag, dew.zone), ("mill/tunnel-1/z1/dew", "mill/tunnel-1/z1/dew", Some(1)));
    assert_eq!((dew.unit.name, dew.scale, dew.offset, dew.max_age), ("degC", 1.0, 0.0, Span::seconds(300)));
    assert_eq!(signal(&settings, Quantity::BandSpeed).zone, None);
}

#[test]
fn usual_limits_are_in_the_unit_that_the_plant_sends() {
    let in_celsius = signal(&read(SMALLEST).unwrap(), Quantity::DewPoint);
    assert_eq!((in_celsius.min, in_celsius.max), (Some(-40.0), Some(100.0)));
    let settings = with(DEW, "dew_point = { topic = \"mill/{line}/z{zone}/dew\", unit = \"degF\" }").unwrap();
    let in_fahrenheit = signal(&settings, Quantity::DewPoint);
    assert_eq!((in_fahrenheit.min, in_fahrenheit.max), (Some(-40.0), Some(212.0)));
    let settings = with(DEW, "dew_point = { topic = \"d/{zone}\", max = 95, max_age_s = 60, scale = 0.1 }").unwrap();
    let stated = signal(&settings, Quantity::DewPoint);
    assert_eq!(
        (stated.min, stated.max, stated.max_age, stated.scale),
        (Some(-40.0), Some(95.0), Span::seconds(60), 0.1)
    );
}

#[test]
fn every_quantity_but_the_product_has_usual_limits_in_every_unit() {
    for &quantity in Quantity::ALL {
        for unit in quantity.units() {
            let limits = limits::believable(quantity, *unit);
            assert_eq!(limits.is_none(), quantity.is_text(), "{}", quantity.name());
            assert!(limits.is_none_or(|(low, high)| low < high), "{} in {}", quantity.name(), unit.name);
        }
    }
}

#[test]
fn a_product_code_stands_until_the_next_one() {
    let settings = with(BAND, &format!("{BAND}\nproduct = \"mill/{{line}}/product\"")).unwrap();
    let product = signal(&settings, Quantity::Product);
    assert_eq!((product.max_age, product.min, product.max), (Span(i64::MAX), None, None));
}

#[test]
fn signals_that_share_a_topic_are_told_apart_by_their_pointers() {
    let shared = "dew_point = { topic = \"mill/{line}/z{zone}\", payload = \"json\", value = \"/dew\" }\n\
                  air_temperature = { topic = \"mill/{line}/z{zone}\", payload = \"json\", value = \"/temp\" }";
    let settings = with(DEW, shared).unwrap();
    let signals = &settings.plant.signals;
    assert_eq!(signals.of_topic("mill/tunnel-1/z1").len(), 2);
    for tag in ["mill/tunnel-1/z1#/dew", "mill/tunnel-1/z1#/temp"] {
        assert!(signals.of_tag(tag).is_some(), "{tag}");
    }
    assert!(signals.of_tag("mill/tunnel-1/band").is_some());
}

#[test]
fn a_signal_takes_the_pointers_of_the_broker_that_it_does_not_state() {
    let broker = "url = \"mqtt://127.0.0.1:1883\"\njson = { value = \"/v\", time = \"/t\" }";
    let text = SMALLEST.replacen("url = \"mqtt://127.0.0.1:1883\"", broker, 1).replacen(
        DEW,
        "dew_point = { topic = \"d/{zone}\", payload = \"json\", time = \"/at\" }",
        1,
    );
    let settings = read(&text).unwrap();
    let (value, time, quality) = ("/v".to_owned(), Some("/at".to_owned()), Some("/quality".to_owned()));
    assert_eq!(signal(&settings, Quantity::DewPoint).payload, PayloadFormat::Json { value, time, quality });
    assert_eq!(signal(&settings, Quantity::BandSpeed).payload, PayloadFormat::Number);
}

#[test]
fn what_a_line_states_itself_replaces_the_default() {
    let defaults = "[defaults.line]\nzones = 3\n[defaults.line.signals]\nsteam_flow = \"mill/{line}/steam\"\n\
                    [defaults.zone]\nlength_m = 5\n[defaults.zone.signals]\nmoisture = \"mill/{line}/z{zone}/vol\"\n";
    let second = "[[line]]\nid = \"tunnel-2\"\nfiring = \"electric\"\n\
                  [line.signals]\nbake_time = \"mill/{line}/time\"\nsteam_flow = false\n";
    let plant = read(&format!("{SMALLEST}\n{second}\n{defaults}")).unwrap().plant;
    let topics = plant.signals.topics();
    let expected = [
        "mill/tunnel-1/band",
        "mill/tunnel-1/steam",
        "mill/tunnel-1/z1/dew",
        "mill/tunnel-2/time",
        "mill/tunnel-2/z1/vol",
        "mill/tunnel-2/z2/vol",
        "mill/tunnel-2/z3/vol",
    ];
    assert_eq!(topics, expected);
    assert_eq!(plant.lines.iter().map(|line| line.length().0).collect::<Vec<_>>(), [7.0, 15.0]);
}

#[test]
fn dough_on_the_band_may_come_from_the_pieces() {
    let settings = with("code = \"T800\"", "code = \"T800\"\npiece_mass_g = 890\npieces_per_m = 14.6").unwrap();
    let dough = settings.plant.products[0].dough_kg_per_m.unwrap();
    assert!((dough - 12.994).abs() < 1e-9, "{dough}");
}

#[test]
fn a_measured_pressure_stands_for_the_elevation() {
    let settings = with("elevation_m = 95", "pressure_kpa = 98.5").unwrap();
    assert!((settings.plant.pressure.0 - 98_500.0).abs() < 1e-6);
}

#[test]
fn files_are_looked_for_beside_the_config_and_secrets_are_not_shown() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("secret"), "s3cret\n").unwrap();
    let broker = "url = \"mqtt://127.0.0.1:1883\"\nusername = \"ovenward\"\npassword_file = \"secret\"";
    let text = SMALLEST.replacen("url = \"mqtt://127.0.0.1:1883\"", broker, 1);
    let settings = parse(&text, &folder.path().join("plant.toml")).unwrap();
    assert!(settings.broker.password == Some(::broker::Secret::new("s3cret")));
    assert!(!format!("{settings:?}").contains("s3cret"));
}

#[test]
fn detection_and_learning_see_the_same_windows() {
    let settings = read(&format!("{SMALLEST}\n[detection]\nwindow_s = 60\nsmallest_step_pct = 2.5\n")).unwrap();
    assert_eq!(settings.detection.window.width, Span::seconds(60));
    assert!((settings.detection.smallest_step - 0.025).abs() < 1e-12);
    assert_eq!(settings.learning.window_s, 60.0);
}

#[test]
fn shifts_of_other_days_may_share_a_name_and_a_time() {
    let shift = |days: &str| format!("[[shift]]\nname = \"early\"\nstarts = \"06:00\"\ndays = [{days}]\n");
    let weekdays = shift("\"mon\", \"tue\"");
    assert!(read(&format!("{SMALLEST}\n{weekdays}{}", shift("\"sat\""))).is_ok());
    assert!(read(&format!("{SMALLEST}\n{weekdays}{}", shift("\"tue\""))).is_err());
}

#[test]
fn every_line_that_is_not_toml_is_told_once() {
    let text = "[site]\nid: \"a\"\nname = Millbrook\nelevation_m = 95,5\n";
    let faults = read(text).unwrap_err().faults;
    assert_eq!(faults.iter().map(|fault| fault.line).collect::<Vec<_>>(), [2, 3, 4]);
}

#[test]
fn a_line_may_do_without_a_default_and_keep_the_others() {
    let defaults = "[defaults.zone.signals]\nair_temperature = \"mill/{line}/z{zone}/temp\"\nmoisture = \"m/{zone}\"\n";
    let text = format!("{SMALLEST}\n{defaults}");
    let topics = |text: &str| read(text).unwrap().plant.signals.topics();
    assert_eq!(topics(&text), ["mill/tunnel-1/band", "mill/tunnel-1/z1/dew", "mill/tunnel-1/z1/temp"]);
    let without = text.replacen(DEW, &format!("{DEW}\nair_temperature = false"), 1);
    assert_eq!(topics(&without), ["mill/tunnel-1/band", "mill/tunnel-1/z1/dew"]);
    let without_dew = text.replacen(DEW, "dew_point = false", 1);
    assert_eq!(topics(&without_dew), ["m/1", "mill/tunnel-1/band", "mill/tunnel-1/z1/temp"]);
}

#[test]
fn a_sparkplug_metric_has_its_name_in_the_tag_and_stands_until_its_node_is_gone() {
    let metrics = "dew_point = { topic = \"Millbrook/gateway-1/{line}\", metric = \"zone {zone}/dew\", payload = \"sparkplug\" }\n\
                   air_temperature = { topic = \"Millbrook/gateway-1/{line}\", metric = \"zone {zone}/air\", payload = \"sparkplug\" }";
    let settings = with(DEW, metrics).unwrap();
    let dew = signal(&settings, Quantity::DewPoint);
    assert_eq!(&*dew.tag, "Millbrook/gateway-1/tunnel-1#zone 1/dew");
    assert_eq!(dew.payload, PayloadFormat::Sparkplug { metric: "zone 1/dew".into() });
    assert_eq!(dew.max_age, crate::stored::LEAD, "as far as a replay reads back, and no further");
    assert_eq!(settings.topics_read().len(), 7, "the band, and six of the node");
    assert_eq!(settings.plant.signals.topics(), ["mill/tunnel-1/band"]);
    assert_eq!(settings.sparkplug.host, None, "nobody is asked unless the config says so");
}

#[test]
fn a_lake_is_its_place_its_key_and_how_often() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("lake-key"), "secret").unwrap();
    let config =
        |lake: &str| parse(&format!("{SMALLEST}\n[lake]\n{lake}"), &folder.path().join("plant.toml")).unwrap().lake;
    assert_eq!(config(""), None, "a section without a url names no lake");
    let lake =
        config("url = \"s3://fleet/ovens\"\nkey_id = \"millbrook\"\nkey_file = \"lake-key\"\nevery_min = 2").unwrap();
    assert_eq!(lake.access.place.to_string(), "s3://fleet/ovens");
    assert_eq!((lake.access.key_id.as_deref(), lake.every.as_secs()), (Some("millbrook"), 120));
    assert_eq!(lake.access.key_file, Some(folder.path().join("lake-key")));
    assert!(!format!("{lake:?}").contains("secret"), "the key itself is read when it is used");
    assert_eq!(config("url = \"file:///srv/fleet\"").unwrap().every.as_secs(), 600);
}

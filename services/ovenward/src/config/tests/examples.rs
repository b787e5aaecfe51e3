//! The examples are whole configs, and what they say of defaults is so.

use super::*;

/// The block with which the reference of the config begins.
const REFERENCE: &str = r#"
[site]
id = "millbrook"               # a-z, 0-9, '-'; stands in topics and paths
name = "Millbrook Bakery"
time_zone = "Europe/London"    # IANA; shifts are local wall-clock time, across DST changes
elevation_m = 95               # station pressure; or pressure_kpa
data_dir = "data"              # relative to this file

[broker]
url = "mqtt://127.0.0.1:1883"  # mqtts:// for TLS
client_id = "ovenward-millbrook"
# username, password_file, ca_file, cert_file, key_file
payload = "number"             # number | json | sparkplug; a signal may override it
json = { value = "/value", time = "/time", quality = "/quality" }   # JSON pointers

[publish]
root = "ovenward"              # the only topic tree the service ever writes

[[shift]]
name = "early"
starts = "06:00"               # ends where the next begins; days = ["mon", …] optional

[[product]]
code = "T800"                  # what the plant sends as product
name = "Tin loaf 800 g"
dough_kg_per_m = 13.0          # or piece_mass_g + pieces_per_m
bake_loss_pct = 10.5
dough_moisture_pct = 42
bake_time_min = 24             # nominal
max_zone3_moisture_pct = 12    # optional hard limit, used before anything is learned
shape = "steamed"             # steamed (peak in zone 1, falling in zone 2, dry in zone 3) | mid-peak | learned

[[line]]
id = "tunnel-1"
name = "Tunnel oven 1"
firing = "direct"              # direct | indirect | electric
fuel = "natural-gas"
steam_section_m = 1.2
[line.signals]
band_speed = { topic = "mill/{line}/band", unit = "m/min" }
product    = { topic = "mill/{line}/product" }
steam_flow = { topic = "mill/{line}/steam", unit = "kg/h" }
gas_flow   = { topic = "mill/{line}/gas", unit = "m3/h" }

[[line.zone]]
length_m = 7.0
[line.zone.signals]
air_temperature = { topic = "mill/{line}/z{zone}/temp", unit = "degC" }
dew_point       = { topic = "mill/{line}/z{zone}/dew", unit = "degC" }
exhaust_damper  = { topic = "mill/{line}/z{zone}/damper", unit = "%" }

[costs]
currency = "GBP"
gas_per_kwh = 0.045
electricity_per_kwh = 0.19
margin_per_tonne = 140.0
"#;

#[test]
fn the_block_of_the_reference_is_a_whole_config() {
    let settings = parse(REFERENCE, Path::new("/etc/ovenward/plant.toml")).unwrap();
    let plant = &settings.plant;
    assert_eq!((&*plant.site, plant.name.as_str()), ("millbrook", "Millbrook Bakery"));
    // U.S. Standard Atmosphere 1976 gives 100.19 kPa at 95 m (recomputed from its formula, from memory).
    assert!((plant.pressure.0 - 100_190.0).abs() < 20.0, "{}", plant.pressure.0);
    assert_eq!(settings.data_dir, Path::new("/etc/ovenward/data"));
    assert_eq!((settings.broker.host.as_str(), settings.broker.port, settings.broker.tls), ("127.0.0.1", 1883, false));
    assert_eq!(settings.broker.client_id, "ovenward-millbrook");
    assert_eq!(settings.publish.root, "ovenward");
    assert_eq!(plant.shifts.names().map(|name| &**name).collect::<Vec<_>>(), ["early"]);
    assert_eq!(plant.lines[0].length().0, 7.0);
    assert_eq!(
        plant.signals.topics(),
        [
            "mill/tunnel-1/band",
            "mill/tunnel-1/gas",
            "mill/tunnel-1/product",
            "mill/tunnel-1/steam",
            "mill/tunnel-1/z1/damper",
            "mill/tunnel-1/z1/dew",
            "mill/tunnel-1/z1/temp",
        ]
    );
    let costs = settings.costs.unwrap();
    assert_eq!((costs.currency.as_str(), costs.margin_per_tonne), ("GBP", Some(140.0)));
}

#[test]
fn every_example_is_in_order() {
    for name in ["plant.toml", "demo.toml", "test-day.toml"] {
        let settings = load(&examples_folder().join(name)).unwrap_or_else(|faults| panic!("{faults}"));
        assert!(!settings.plant.signals.is_empty(), "{name}");
    }
    let packaged = examples_folder().join("../deploy/debian/plant.toml");
    let settings = load(&packaged).unwrap_or_else(|faults| panic!("{faults}"));
    assert_eq!(settings.data_dir, Path::new("/var/lib/ovenward"), "where the service may write");
}

/// The example with every default that it shows behind a `#` written out.
fn example_with_defaults() -> String {
    let uncomment = |line: &str| match line.strip_prefix("# ") {
        Some(rest) if rest.contains(" = ") && rest.starts_with(|c: char| c.is_ascii_lowercase()) => {
            let is_key =
                rest.split(" = ").next().is_some_and(|key| key.chars().all(|c| c.is_ascii_lowercase() || c == '_'));
            if is_key && !line.contains("# example") { rest.to_owned() } else { line.to_owned() }
        }
        _ => line.to_owned(),
    };
    example().lines().map(|line| uncomment(line) + "\n").collect()
}

#[test]
fn the_defaults_that_the_example_shows_are_the_defaults() {
    let (plain, shown) = (example(), example_with_defaults());
    let written_out = plain.lines().zip(shown.lines()).filter(|(plain, shown)| plain != shown).count();
    assert!(written_out >= 19, "the example shows {written_out} defaults");
    let (plain, shown) = (read(&plain).unwrap(), read(&shown).unwrap_or_else(|faults| panic!("{faults}")));
    assert_eq!(shown.detection, plain.detection);
    assert_eq!(shown.learning, plain.learning);
    assert_eq!(shown.energy, plain.energy);
    assert_eq!(shown.store, plain.store);
    assert_eq!(shown.console, plain.console);
    assert_eq!(shown.lake, plain.lake);
    assert_eq!(shown.sparkplug, plain.sparkplug);
    assert_eq!(format!("{:?}", shown.broker), format!("{:?}", plain.broker));
}

#[test]
fn the_smallest_config_has_working_defaults() {
    let settings = parse(SMALLEST, Path::new("somewhere/plant.toml")).unwrap();
    assert_eq!(settings.data_dir, Path::new("somewhere/data"));
    assert_eq!(settings.broker.client_id, "ovenward-millbrook");
    assert_eq!(settings.publish.root, "ovenward");
    assert_eq!(settings.console.bind.to_string(), "127.0.0.1:8080");
    assert_eq!(settings.detection, alert::DetectionSettings::default());
    assert_eq!(settings.learning, normal_profile::LearnSettings::default());
    assert_eq!((settings.store.keep_days, settings.store.keep_bytes), (None, None));
    assert_eq!((settings.costs, settings.lake), (None, None));
    assert_eq!(settings.plant.lines[0].name, "tunnel-1");
    assert_eq!(settings.plant.shifts.names().map(|name| &**name).collect::<Vec<_>>(), ["day"]);
}

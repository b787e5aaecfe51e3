//! `ovenward air`: a calculator for moist air at oven conditions.

mod arguments;
mod report;
mod scale;

use std::io::Write;

use anyhow::{Context, Result, anyhow};
use clap::{Args, ValueEnum};
use physics::air::{MoistAir, station_pressure};
use physics::units::{Celsius, HumidityRatio, Metre, MoistureFraction, Pascal};

use report::Report;
use scale::Units;

/// What `ovenward air` is asked.
#[derive(Debug, Args)]
pub struct AirArguments {
    /// Temperature of the air: 220degC or 428degF.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = arguments::temperature)]
    temperature: Celsius,
    #[command(flatten)]
    water: Water,
    #[command(flatten)]
    place: Place,
    /// How the state is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Units of what is written.
    #[arg(long, value_enum, default_value_t = Units::Metric)]
    units: Units,
}

/// How moist the air is, in one of three ways.
#[derive(Debug, Args)]
#[group(required = true, multiple = false)]
struct Water {
    /// Dew point of the air, below freezing its frost point: 80degC or 176degF.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = arguments::temperature)]
    dew_point: Option<Celsius>,
    /// Moisture of the air by volume: 46.8%.
    #[arg(long, value_name = "PERCENT", allow_hyphen_values = true, value_parser = arguments::moisture)]
    moisture: Option<MoistureFraction>,
    /// Water per dry air by mass: 0.55kg/kg, 550g/kg or 0.55lb/lb.
    #[arg(long, value_name = "RATIO", allow_hyphen_values = true, value_parser = arguments::humidity_ratio)]
    humidity_ratio: Option<HumidityRatio>,
}

/// Where the oven stands; at sea level if nothing is said.
#[derive(Debug, Args)]
#[group(multiple = false)]
struct Place {
    /// Elevation in metres above sea level, for the pressure of the standard atmosphere.
    #[arg(long, value_name = "METRES", allow_hyphen_values = true)]
    elevation: Option<f64>,
    /// Air pressure as measured on the site, in kPa, not reduced to sea level.
    #[arg(long, value_name = "KPA", allow_hyphen_values = true)]
    pressure_kpa: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// A table for people.
    Text,
    /// One JSON object; each key ends in its unit.
    Json,
}

/// Writes the whole state of the air that was asked for.
///
/// # Errors
/// Air that cannot be: which option says so, the range, and what to write instead; or `out` fails.
pub fn run(arguments: &AirArguments, out: &mut dyn Write) -> Result<()> {
    let pressure = arguments.place.pressure()?;
    let air = arguments.water.air(arguments.temperature, pressure)?;
    let report = Report::of(&air)?;
    match arguments.format {
        Format::Text => report.write_text(arguments.units, out),
        Format::Json => report.write_json(arguments.units, out),
    }
}

impl Place {
    fn pressure(&self) -> Result<Pascal> {
        if let Some(kilopascal) = self.pressure_kpa {
            return Ok(Pascal::from_kilopascal(kilopascal));
        }
        station_pressure(Metre(self.elevation.unwrap_or(0.0)))
            .context("--elevation: write metres above sea level, such as 95")
    }
}

impl Water {
    fn air(&self, temperature: Celsius, pressure: Pascal) -> Result<MoistAir> {
        let (option, air) = match self {
            Self { dew_point: Some(dew_point), .. } => {
                ("--dew-point", MoistAir::from_dew_point(temperature, *dew_point, pressure))
            }
            Self { moisture: Some(moisture), .. } => {
                ("--moisture", MoistAir::from_moisture(temperature, *moisture, pressure))
            }
            Self { humidity_ratio: Some(ratio), .. } => {
                ("--humidity-ratio", MoistAir::from_humidity_ratio(temperature, *ratio, pressure))
            }
            _ => return Err(anyhow!("write one of --dew-point 80degC, --moisture 46.8%, --humidity-ratio 0.55kg/kg")),
        };
        air.map_err(|error| match error.quantity {
            "air temperature" => anyhow!("--temperature: {error}"),
            "air pressure" => anyhow!("--pressure-kpa: {error}; write kPa as measured on the site, such as 100.2"),
            _ if error.value > error.high => anyhow!(
                "{option}: {error}: air of {:.2} degC at {:.2} kPa holds no more vapour; \
                 check the reading, and --elevation or --pressure-kpa",
                temperature.0,
                pressure.0 / 1e3,
            ),
            _ => anyhow!("{option}: {error}"),
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use clap::Parser;

    use super::*;

    #[derive(Parser)]
    struct Only {
        #[command(flatten)]
        air: AirArguments,
    }

    /// What the command writes, or the words it ends with.
    fn written(arguments: &str) -> Result<String, String> {
        let given = std::iter::once("air").chain(arguments.split_whitespace());
        let only = Only::try_parse_from(given).map_err(|error| error.to_string())?;
        let mut out = Vec::new();
        run(&only.air, &mut out).map_err(|error| format!("{error:#}"))?;
        Ok(String::from_utf8(out).unwrap())
    }

    #[test]
    fn a_table_for_people() {
        let text = written("--temperature 220degC --dew-point 80degC --elevation 95").unwrap();
        assert_eq!(text, METRIC);
    }

    #[test]
    fn the_same_in_us_units() {
        let text = written("--temperature 428degF --dew-point 176degF --elevation 95 --units us").unwrap();
        assert_eq!(text, US);
    }

    #[test]
    fn json_carries_every_digit() {
        let text = written("--temperature 220degC --dew-point 80degC --pressure-kpa 101.325 --format json").unwrap();
        let json: serde_json::Value = serde_json::from_str(&text).unwrap();
        let number = |key: &str| json[key].as_f64().unwrap_or_else(|| panic!("{key} in {text}"));
        // moist_air_oven.csv, 220 degC and 80 degC dew point.
        assert!((number("humidity_ratio_kg_per_kg") / 0.547_008_2 - 1.0).abs() < 1e-6);
        assert!((number("enthalpy_kj_per_kg") / 1_819.754_7 - 1.0).abs() < 5e-4);
        assert!((number("wet_bulb_c") - 82.557_4).abs() < 0.01);
        assert!((number("dew_point_c") - 80.0).abs() < 1e-9);
    }

    #[test]
    fn the_three_ways_to_say_how_moist_meet() {
        let moisture = written("--temperature 220degC --moisture 30%").unwrap();
        let by_mass = written("--temperature 220degC --humidity-ratio 266.5479g/kg").unwrap();
        assert_eq!(moisture, by_mass);
    }

    #[test]
    fn dry_air_has_no_dew_point_and_removes_nothing() {
        let text = written("--temperature 220degC --moisture 0%").unwrap();
        assert!(text.contains("dew point                                -  degC\n"), "{text}");
        assert!(text.contains("removes no water"), "{text}");
        let json = written("--temperature 220degC --moisture 0% --format json").unwrap();
        assert!(json.contains("\"dew_point_c\": null") && json.contains("\"exhaust_heat_kj_per_kg\": null"), "{json}");
    }

    #[test]
    fn wrong_words_say_what_to_write() {
        let refused = |arguments: &str, words: &str| {
            let error = written(arguments).unwrap_err();
            assert!(error.contains(words), "{arguments}: {error}");
        };
        refused("--temperature 220 --dew-point 80degC", "write its unit: 220degC or 220degF");
        refused("--temperature warmdegC --dew-point 80degC", "\"warm\" is no number");
        refused("--temperature nandegC --dew-point 80degC", "\"nan\" is no number");
        refused("--temperature 220degC --moisture 0.468", "write percent by volume: 0.468%");
        refused("--temperature 220degC --humidity-ratio 0.55", "write its unit: 0.55kg/kg");
        refused("--temperature 220degC", "--dew-point");
        refused("--temperature 220degC --dew-point 80degC --moisture 30%", "cannot be used with");
        refused("--temperature 220degC --dew-point 80degC --elevation 9 --pressure-kpa 100", "cannot be used with");
    }

    #[test]
    fn impossible_air_says_which_option_and_why() {
        let why = |arguments: &str| written(arguments).unwrap_err();
        assert_eq!(
            why("--temperature 220degC --dew-point 99degC --elevation 1000"),
            "--dew-point: dew point 99 degC is outside -100 to 96.64874 degC: air of 220.00 degC at 89.87 kPa holds \
             no more vapour; check the reading, and --elevation or --pressure-kpa"
        );
        assert_eq!(
            why("--temperature 60degC --moisture 25%"),
            "--moisture: moisture fraction 0.25 is outside 0 to 0.1968498: air of 60.00 degC at 101.33 kPa holds \
             no more vapour; check the reading, and --elevation or --pressure-kpa"
        );
        assert_eq!(
            why("--temperature 900degC --dew-point 80degC"),
            "--temperature: air temperature 900 degC is outside -60 to 800 degC"
        );
        assert_eq!(
            why("--temperature 220degC --dew-point 80degC --pressure-kpa 1013"),
            "--pressure-kpa: air pressure 1013000 Pa is outside 10000 to 200000 Pa; \
             write kPa as measured on the site, such as 100.2"
        );
        assert_eq!(
            why("--temperature 220degC --dew-point 80degC --elevation 95000"),
            "--elevation: write metres above sea level, such as 95: elevation 95000 m is outside -500 to 11000 m"
        );
        assert_eq!(
            why("--temperature 220degC --moisture -1%"),
            "--moisture: moisture fraction -0.01 is outside 0 to 1"
        );
    }

    const METRIC: &str = "\
dry bulb                            220.00  degC
pressure                           100.189  kPa
dew point                            80.00  degC
boiling point at this pressure       99.66  degC
dew point below boiling              19.66  K
wet bulb                             82.51  degC
moisture                             47.33  % vol
humidity ratio                      0.5588  kg/kg of dry air
vapour pressure                     47.415  kPa
relative humidity                     2.04  % of saturation
enthalpy                            1854.1  kJ/kg of dry air, over 0 degC
density                             0.5811  kg/m3
specific volume                     2.6823  m3/kg of dry air

As exhaust, for each kg of water that it removes:
dry air that leaves                 1.8222  kg/kg of water
volume that leaves                  4.8877  m3/kg of water
heat that leaves                    3286.3  kJ/kg of water
of it only to heat air               367.4  kJ/kg of water
make-up air, temperature             25.00  degC assumed
make-up air, humidity ratio         0.0100  kg/kg assumed
";

    const US: &str = "\
dry bulb                            428.00  degF
pressure                           14.5312  psi
dew point                           176.00  degF
boiling point at this pressure      211.39  degF
dew point below boiling              35.39  degF
wet bulb                            180.51  degF
moisture                             47.33  % vol
humidity ratio                      0.5588  lb/lb of dry air
vapour pressure                     6.8769  psi
relative humidity                     2.04  % of saturation
enthalpy                             804.8  Btu/lb of dry air, over 0 degF
density                            0.03628  lb/ft3
specific volume                     42.966  ft3/lb of dry air

As exhaust, for each lb of water that it removes:
dry air that leaves                 1.8222  lb/lb of water
volume that leaves                  78.293  ft3/lb of water
heat that leaves                    1412.9  Btu/lb of water
of it only to heat air               157.9  Btu/lb of water
make-up air, temperature             77.00  degF assumed
make-up air, humidity ratio         0.0100  lb/lb assumed
";
}

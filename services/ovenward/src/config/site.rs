//! `[site]`: where the plant is, what the time is there, and where its data lies.

use std::path::PathBuf;
use std::sync::Arc;

use chrono_tz::Tz;
use physics::air;
use physics::units::{Metre, Pascal};

use super::identity::identity;
use super::key::{Key, Number};
use super::nearest::nearest;
use super::section::Section;

const ID: Key = Key::required("id", "\"millbrook\"");
const NAME: Key = Key::optional("name", "\"Millbrook Bakery\"");
const TIME_ZONE: Key = Key::required("time_zone", "\"Europe/London\"");
const ELEVATION: Number = Number::optional("elevation_m", "95").within(-430.0, 5500.0, "m");
const PRESSURE: Number = Number::optional("pressure_kpa", "100.2").within(50.0, 110.0, "kPa");
const DATA_DIR: Key = Key::optional("data_dir", "\"data\"");

/// What `[site]` says.
pub(super) struct Site {
    pub(super) id: Arc<str>,
    pub(super) name: String,
    pub(super) time_zone: Tz,
    pub(super) pressure: Pascal,
    pub(super) data_dir: PathBuf,
}

pub(super) fn read(section: &Section<'_>) -> Option<Site> {
    let id = section.text(&ID).and_then(|id| identity(section, &ID, &id));
    let name = section.text(&NAME).map(|name| name.into_inner());
    let time_zone = read_time_zone(section);
    let pressure = read_pressure(section);
    let data_dir = section.path(&DATA_DIR).map(|path| path.into_inner());
    section.finish();
    let id = id?;
    Some(Site {
        name: name.unwrap_or_else(|| id.to_string()),
        id,
        time_zone: time_zone?,
        pressure: pressure?,
        data_dir: data_dir.unwrap_or_else(|| section.faults().path().with_file_name("data")),
    })
}

fn read_time_zone(section: &Section<'_>) -> Option<Tz> {
    let text = section.text(&TIME_ZONE)?;
    let name = text.get_ref();
    let found = name.parse::<Tz>().ok();
    if found.is_none() {
        let names = || chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
        // People write "London"; the names are continent and city.
        let city = |zone: &&str| zone.rsplit('/').next().is_some_and(|city| city.eq_ignore_ascii_case(name));
        let near = names().find(city).or_else(|| nearest(name, names()));
        let advice = match near {
            Some(near) => format!("time_zone = {near:?}"),
            None => format!("{}, a name of the IANA time zone database", TIME_ZONE.advice()),
        };
        section.faults().add(text.span().start, format!("there is no time zone {name:?}"), advice);
    }
    found
}

/// Air pressure, measured or from the elevation. Water in air by volume can't be had without it.
fn read_pressure(section: &Section<'_>) -> Option<Pascal> {
    let has = |number: &Number| section.value(number.key.name).is_some();
    match (has(&ELEVATION), has(&PRESSURE)) {
        (true, true) => {
            let message = "elevation_m and pressure_kpa both say what the air pressure is";
            section.faults().add(section.at_key(PRESSURE.key.name), message, "only one of them");
        }
        (false, false) => {
            let message = "[site] has neither elevation_m nor pressure_kpa";
            section.miss(ELEVATION.key.name, message, ELEVATION.advice());
        }
        _ => {}
    }
    let measured = section.number(&PRESSURE).map(|pressure| Pascal(pressure * 1000.0));
    measured.or(section.number(&ELEVATION).and_then(|elevation| air::station_pressure(Metre(elevation)).ok()))
}

//! `[lake]`: the object store that all plants share, and how it lets us in.

use std::time::Duration;

use ::lake::{Access, NoPlace, Place};

use super::key::{Key, Number};
use super::section::Section;

const URL: Key = Key::optional("url", "\"s3://fleet-readings/ovens\"");
const KEY_ID: Key = Key::optional("key_id", "\"millbrook\"");
const KEY_FILE: Key = Key::optional("key_file", "\"lake-key\"");
const ENDPOINT: Key = Key::optional("endpoint", "\"https://objects.plant:9000\"");
const REGION: Key = Key::optional("region", "\"eu-west-1\"");
const EVERY: Number = Number::optional("every_min", "10").within(0.1, 1440.0, "min");

/// Where what is sealed is copied to, and how often it is looked whether there is something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LakeSettings {
    /// Where, and how it lets us in.
    pub access: Access,
    /// How often. Default 10 min.
    pub every: Duration,
}

pub(super) fn read(section: &Section<'_>) -> Option<LakeSettings> {
    let url = section.text(&URL);
    let key_id = section.text(&KEY_ID).map(|id| id.into_inner());
    // Read only to say now whether it can be: the key itself is read each time that the lake is opened.
    section.file(&KEY_FILE);
    let key_file = section.path(&KEY_FILE).map(|path| path.into_inner());
    let endpoint = section.text(&ENDPOINT);
    let region = section.text(&REGION).map(|region| region.into_inner());
    let every_min = section.number(&EVERY).unwrap_or(10.0);
    section.finish();
    if let Some(endpoint) = &endpoint
        && !endpoint.get_ref().starts_with("https://")
        && !endpoint.get_ref().starts_with("http://")
    {
        let message = format!("endpoint {:?} is no address of a store", endpoint.get_ref());
        section.faults().add(endpoint.span().start, message, ENDPOINT.advice());
    }
    let url = url?;
    let place = match Place::parse(url.get_ref()) {
        Ok(place) => place,
        Err(error) => {
            let advice = match error {
                NoPlace::Relative(_) => "url = \"file:///srv/fleet\"".to_owned(),
                _ => format!("{}, or az://, gs:// or file:///", URL.advice()),
            };
            section.faults().add(url.span().start, format!("url: {error}"), advice);
            return None;
        }
    };
    let endpoint = endpoint.map(|endpoint| endpoint.into_inner());
    Some(LakeSettings {
        access: Access { place, key_id, key_file, endpoint, region },
        every: Duration::from_secs_f64(every_min * 60.0),
    })
}

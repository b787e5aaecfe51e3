//! `[sql]`: a PostgreSQL database that tables, alerts and records are written to.

use ::sql::{Address, AddressError};

use super::key::Key;
use super::section::Section;

const URL: Key = Key::required("url", "\"postgres://ovenward@database.plant/bakery\"");
const PASSWORD_FILE: Key = Key::optional("password_file", "\"database-password\"");
const CA_FILE: Key = Key::optional("ca_file", "\"plant-ca.pem\"");
const WRITE: Key = Key::optional("write", "[\"shifts\", \"energy\", \"alerts\", \"rate-changes\"]");

/// Where the database is, and what is written there.
#[derive(Debug, Clone)]
pub struct SqlSettings {
    /// Where it is.
    pub address: Address,
    /// Whether shift tables are written.
    pub shifts: bool,
    /// Whether energy records are.
    pub energy: bool,
    /// Whether alerts are.
    pub alerts: bool,
    /// Whether rate changes are.
    pub rate_changes: bool,
}

pub(super) fn read(section: &Section<'_>) -> Option<SqlSettings> {
    if !section.is_present() {
        return None;
    }
    let address = read_address(section);
    let written = read_written(section);
    section.finish();
    let [shifts, energy, alerts, rate_changes] = written;
    Some(SqlSettings { address: address?, shifts, energy, alerts, rate_changes })
}

fn read_address(section: &Section<'_>) -> Option<Address> {
    let url = section.text(&URL);
    let password = section.file(&PASSWORD_FILE).map(|bytes| String::from_utf8_lossy(&bytes).trim_end().to_owned());
    let authority = section.file(&CA_FILE);
    if section.value(CA_FILE.name).is_some() && authority.is_none() {
        return None;
    }
    let refuse = |error: AddressError| {
        let AddressError { setting, message, advice } = error;
        section.faults().add(section.at_key(setting), format!("{setting}: {message}"), advice);
    };
    let url = url?;
    let address = Address::parse(url.get_ref(), authority.as_deref()).map_err(refuse).ok()?;
    if address.has_password() {
        let message = "url: a password stands in it, for everybody to read who may read the config";
        section.faults().add(url.span().start, message, format!("the url without it, and {}", PASSWORD_FILE.advice()));
    }
    Some(match password {
        Some(password) => address.with_password(&password),
        None => address,
    })
}

/// Whether each of the words of [`WRITE`] is among those written; all of them by default.
fn read_written(section: &Section<'_>) -> [bool; 4] {
    const WORDS: [&str; 4] = ["shifts", "energy", "alerts", "rate-changes"];
    let Some(words) = section.texts(&WRITE) else { return [true; 4] };
    for word in words.iter().filter(|word| !WORDS.contains(&word.get_ref().as_str())) {
        let message = format!("write: there is no {:?} to write", word.get_ref());
        section.faults().add(word.span().start, message, WRITE.advice());
    }
    if words.is_empty() {
        section.faults().add(section.at_key(WRITE.name), "write: nothing is to be written", WRITE.advice());
    }
    WORDS.map(|known| words.iter().any(|word| word.get_ref() == known))
}

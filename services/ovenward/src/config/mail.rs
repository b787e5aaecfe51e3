//! `[mail]`: the server through which mail leaves.

use notice::{MailServer, MailServerSettings, MailTls, SetupError};

use super::key::{Choice, Key, Number};
use super::section::Section;

const HOST: Key = Key::required("host", "\"mail.plant\"");
const PORT: Number = Number::optional("port", "587").within(1.0, 65_535.0, "");
const TLS: Choice<MailTls> = Choice {
    key: Key::optional("tls", "\"starttls\""),
    words: &[("starttls", MailTls::StartTls), ("implicit", MailTls::Implicit), ("none", MailTls::None)],
};
const USER: Key = Key::optional("user", "\"ovens\"");
const PASSWORD_FILE: Key = Key::optional("password_file", "\"mail-password\"");
const CA_FILE: Key = Key::optional("ca_file", "\"plant-ca.pem\"");
const FROM: Key = Key::required("from", "\"Ovens <ovens@millbrook.example>\"");

/// The server, if there is one and what is said of it can be used.
pub(super) fn read(section: &Section<'_>) -> Option<MailServer> {
    if !section.is_present() {
        return None;
    }
    let host = section.text(&HOST);
    let tls = section.choice(&TLS).map_or(MailTls::StartTls, |tls| tls.into_inner());
    let port = section.count(&PORT).and_then(|port| u16::try_from(port).ok());
    let user = section.text(&USER);
    let password = section.file(&PASSWORD_FILE);
    let ca_file = section.file(&CA_FILE);
    let from = section.text(&FROM);
    section.finish();
    let has = |key: &Key| section.value(key.name).is_some();
    for (there, other) in [(USER, PASSWORD_FILE), (PASSWORD_FILE, USER)] {
        if has(&there) && !has(&other) {
            let message = format!("{} says nothing without {}", there.name, other.name);
            section.faults().add(section.at_key(there.name), message, other.advice());
        }
    }
    let user = user
        .zip(password)
        .map(|(user, password)| (user.into_inner(), String::from_utf8_lossy(&password).trim_end().to_owned()));
    let port = port.unwrap_or_else(|| tls.usual_port());
    let (host, from) = (host?.into_inner(), from?.into_inner());
    MailServer::new(MailServerSettings { host, port, tls, user, ca_file, from })
        .map_err(|error| refuse(section, &error))
        .ok()
}

/// The rules of a mail server are the notice crate's; here they get their place in the file.
fn refuse(section: &Section<'_>, error: &SetupError) {
    let advice = match error.setting {
        "from" => FROM.advice(),
        "tls" => format!("{}, or no user and password", TLS.key.advice()),
        _ => CA_FILE.advice(),
    };
    section.faults().add(section.at_key(error.setting), error.to_string(), advice);
}

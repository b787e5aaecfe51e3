//! `[notify.NAME]`: who is told of alerts, by webhook or by mail.

use std::sync::Arc;

use alert::Priority;
use notice::{Channel, Mail, MailServer, Quiet, Receiver, Rule, Secret, SetupError, Webhook};
use reading::Span;

use super::key::{Choice, Key, Number};
use super::nearest::nearest;
use super::section::Section;
use super::shift::time_of_day;

const URL: Key = Key::optional("url", "\"https://rota.plant/ovens\"");
const SECRET_FILE: Key = Key::optional("secret_file", "\"rota-secret\"");
const CA_FILE: Key = Key::optional("ca_file", "\"plant-ca.pem\"");
const TO: Key = Key::optional("to", "[\"ann@millbrook.example\"]");
const LINES: Key = Key::optional("lines", "[\"tunnel-1\"]");
const LOWEST_PRIORITY: Choice<Priority> = Choice {
    key: Key::optional("lowest_priority", "\"medium\""),
    words: &[("high", Priority::High), ("medium", Priority::Medium)],
};
const SHIFTS: Key = Key::optional("shifts", "[\"early\"]");
const AFTER: Number = Number::optional("after_min", "10").within(0.0, 1440.0, "min");
const FROM: Key = Key::optional("from", "\"22:00\"");
const UNTIL: Key = Key::optional("to", "\"06:00\"");

/// How to make a secret.
const NEW_SECRET: &str = "echo \"whsec_$(openssl rand -base64 32)\"";

/// What receivers may name: `None` where a fault of its own hides a name.
pub(super) struct Names<'a> {
    /// Ids of the lines.
    pub(super) lines: Option<Vec<&'a str>>,
    /// Names of the shifts.
    pub(super) shifts: Option<Vec<&'a str>>,
}

/// Everybody who is told: each address of a mail for itself, so that one that is wrong keeps nothing from the others.
pub(super) fn read_all(
    notify: &Section<'_>,
    server: Option<&MailServer>,
    mail: &Section<'_>,
    names: &Names<'_>,
) -> Vec<Receiver> {
    notify.each().iter().flat_map(|(name, section)| read(name, section, server, mail, names)).collect()
}

fn read(
    name: &str,
    section: &Section<'_>,
    server: Option<&MailServer>,
    mail: &Section<'_>,
    names: &Names<'_>,
) -> Vec<Receiver> {
    let rule = read_rule(section, names);
    let has = |key: &Key| section.value(key.name).is_some();
    let receivers = match (has(&URL), has(&TO)) {
        (true, false) => read_webhook(name, section, &rule).into_iter().collect(),
        (false, true) => read_mails(name, section, &rule, server, mail),
        (true, true) => {
            let message = "url and to both say where to";
            section.faults().add(
                section.at_key(URL.name),
                message,
                "one of them here, and the other in a section of its own",
            );
            Vec::new()
        }
        (false, false) => {
            let message = format!("{} has neither url nor to", section.name());
            section.miss(URL.name, message, format!("{}, or {}", URL.advice(), TO.advice()));
            Vec::new()
        }
    };
    section.finish();
    receivers
}

fn read_webhook(name: &str, section: &Section<'_>, rule: &Rule) -> Option<Receiver> {
    let url = section.text(&URL);
    if section.value(SECRET_FILE.name).is_none() {
        section.miss(SECRET_FILE.name, format!("{} has no secret_file", section.name()), secret_advice());
    }
    let (secret, ca_file) = (section.file(&SECRET_FILE), section.file(&CA_FILE));
    let refused = |error: SetupError| refuse(section, &error);
    let secret = Secret::parse(&String::from_utf8_lossy(&secret?)).map_err(refused).ok();
    let webhook = Webhook::new(url?.get_ref(), secret?, ca_file.as_deref()).map_err(refused).ok()?;
    Some(Receiver { name: name.into(), rule: rule.clone(), channel: Channel::Webhook(webhook) })
}

fn read_mails(
    name: &str,
    section: &Section<'_>,
    rule: &Rule,
    server: Option<&MailServer>,
    mail: &Section<'_>,
) -> Vec<Receiver> {
    for of_webhooks in [SECRET_FILE, CA_FILE] {
        if section.has_stray(of_webhooks.name) {
            let message = format!("{} belongs to a webhook", of_webhooks.name);
            section.faults().add(section.at_key(of_webhooks.name), message, "to alone, or url instead of to");
        }
    }
    if !mail.is_present() {
        let message = "there is no section [mail], the server through which it leaves";
        section.faults().add(section.at_key(TO.name), message, "[mail] with host and from");
    }
    let addresses = section.texts(&TO).unwrap_or_default();
    if addresses.is_empty() {
        section.faults().add(section.at_key(TO.name), "to names nobody", TO.advice());
    }
    for (index, address) in addresses.iter().enumerate() {
        if addresses[..index].iter().any(|other| other.get_ref() == address.get_ref()) {
            let message = format!("{:?} is named twice", address.get_ref());
            section.faults().add(address.span().start, message, "each address once");
        }
    }
    // A server of which something is wrong has its own fault.
    let Some(server) = server else { return Vec::new() };
    let of_address = |address: &toml::Spanned<String>| {
        let refused = |error: SetupError| section.faults().add(address.span().start, error.reason, TO.advice());
        let mail = Mail::new(server.clone(), address.get_ref()).map_err(refused).ok()?;
        let name = format!("{name}/{}", mail.address());
        Some(Receiver { name, rule: rule.clone(), channel: Channel::Mail(mail) })
    };
    addresses.iter().filter_map(of_address).collect()
}

fn read_rule(section: &Section<'_>, names: &Names<'_>) -> Rule {
    let quiet = section.section("quiet");
    Rule {
        lines: named(section, &LINES, names.lines.as_deref(), "line"),
        lowest_priority: section.choice(&LOWEST_PRIORITY).map_or(Priority::Medium, |lowest| lowest.into_inner()),
        shifts: named(section, &SHIFTS, names.shifts.as_deref(), "shift"),
        after: Span((section.number(&AFTER).unwrap_or(0.0) * 60e6).round() as i64),
        quiet: read_quiet(&quiet, names),
    }
}

fn read_quiet(section: &Section<'_>, names: &Names<'_>) -> Option<Quiet> {
    if !section.is_present() {
        return None;
    }
    let shifts = named(section, &SHIFTS, names.shifts.as_deref(), "shift");
    let (from, to) = (time_of_day(section, &FROM), time_of_day(section, &UNTIL));
    section.finish();
    let has = |key: &Key| section.value(key.name).is_some();
    if has(&SHIFTS) == (has(&FROM) || has(&UNTIL)) || has(&FROM) != has(&UNTIL) {
        section.fault("a quiet time is either from a time to another, or that of shifts", QUIET_ADVICE);
        return None;
    }
    if !shifts.is_empty() {
        return Some(Quiet::Shifts(shifts));
    }
    let (from, to) = (from?, to?);
    if from == to {
        section.fault("a quiet time that ends when it begins has no length, or no end", QUIET_ADVICE);
    }
    Some(Quiet::Hours { from, to })
}

const QUIET_ADVICE: &str = "quiet = { from = \"22:00\", to = \"06:00\" } or quiet = { shifts = [\"night\"] }";

/// A list of names that the config knows; empty where it is not given.
fn named(section: &Section<'_>, key: &Key, known: Option<&[&str]>, what: &str) -> Vec<Arc<str>> {
    let Some(texts) = section.texts(key) else { return Vec::new() };
    if texts.is_empty() {
        section.faults().add(
            section.at_key(key.name),
            format!("{} names no {what}", key.name),
            format!("{}, or nothing for every {what}", key.advice()),
        );
    }
    let known = known.unwrap_or_default();
    let unknown = |text: &&toml::Spanned<String>| !known.is_empty() && !known.contains(&text.get_ref().as_str());
    for text in texts.iter().filter(unknown) {
        let advice = match nearest(text.get_ref(), known.iter().copied()) {
            Some(near) => format!("{near:?}"),
            None => format!("one of {}", known.join(", ")),
        };
        section.faults().add(text.span().start, format!("there is no {what} {:?}", text.get_ref()), advice);
    }
    texts.into_iter().map(|text| text.into_inner().into()).collect()
}

fn secret_advice() -> String {
    format!("{}, a file made by: {NEW_SECRET}", SECRET_FILE.advice())
}

/// The rules of a webhook are the notice crate's; here they get their place in the file.
fn refuse(section: &Section<'_>, error: &SetupError) {
    let advice = match error.setting {
        "secret_file" => secret_advice(),
        "ca_file" => CA_FILE.advice(),
        _ => URL.advice(),
    };
    section.faults().add(section.at_key(error.setting), error.to_string(), advice);
}

//! `alerts shelve`, `unshelve`, `out-of-service`, `in-service`, `suppressed`.

use std::io::Write;

use alert::{Alert, Kind, Suppression, Transition};
use chrono::NaiveTime;
use clap::Args;
use reading::{Span, Timestamp};
use serde::Serialize;

use super::scope::ScopeArguments;
use super::{ByArguments, Office, TextOrJson, answer};
use crate::alert_desk::{self, Scope};
use crate::cli::moment;
use crate::commands::duration::duration;
use crate::failure::Failure;

/// What is shelved, for how long and why.
#[derive(Debug, Args)]
pub(super) struct ShelveArguments {
    #[command(flatten)]
    scope: ScopeArguments,
    #[command(flatten)]
    time: ShelfTime,
    /// Why, so that the next shift knows.
    #[arg(long, value_name = "TEXT")]
    reason: String,
    #[command(flatten)]
    by: ByArguments,
}

#[derive(Debug, Args)]
#[group(required = true, multiple = false)]
struct ShelfTime {
    /// Until the clock on the wall shows this: 14:30, or a time with its date such as 2026-11-02T14:30:00Z.
    #[arg(long, value_name = "TIME")]
    until: Option<String>,
    /// For so long: 45min, 2h, 1h30min.
    #[arg(long = "for", value_name = "DURATION", value_parser = duration)]
    length: Option<Span>,
}

/// What is taken out of service and why.
#[derive(Debug, Args)]
pub(super) struct OutOfServiceArguments {
    #[command(flatten)]
    scope: ScopeArguments,
    /// Why, so that the next shift knows.
    #[arg(long, value_name = "TEXT")]
    reason: String,
    #[command(flatten)]
    by: ByArguments,
}

/// What is to call again.
#[derive(Debug, Args)]
pub(super) struct ReleaseArguments {
    #[command(flatten)]
    scope: ScopeArguments,
    #[command(flatten)]
    by: ByArguments,
}

/// A kind of alert on a line, and what keeps it quiet.
#[derive(Debug, Serialize)]
struct Quiet<'a> {
    line: &'a str,
    kind: Kind,
    suppression: Option<&'a Suppression>,
    /// The alerts that stand and have changed with it.
    #[serde(skip_serializing_if = "Option::is_none")]
    alerts: Option<&'a [Alert]>,
}

pub(super) fn shelve(office: &Office<'_>, arguments: &ShelveArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let person = office.person(&arguments.by)?;
    let (line, kind) = arguments.scope.resolve(office)?;
    let until = match (&arguments.time.until, arguments.time.length) {
        (Some(text), _) => shelf_end(text, person.now, office)?,
        (None, length) => person.now + length.unwrap_or(Span::ZERO),
    };
    let limits = office.settings.shelves;
    let shelf = Suppression::shelf(kind, until, &arguments.reason, person.name, person.now, limits);
    suppress(
        office,
        &line,
        kind,
        &shelf.map_err(|refusal| Failure::usage(refusal.to_string()))?,
        arguments.by.format,
        out,
    )
}

pub(super) fn out_of_service(
    office: &Office<'_>,
    arguments: &OutOfServiceArguments,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let person = office.person(&arguments.by)?;
    let (line, kind) = arguments.scope.resolve(office)?;
    let taken = Suppression::out_of_service(&arguments.reason, person.name, person.now);
    suppress(
        office,
        &line,
        kind,
        &taken.map_err(|refusal| Failure::usage(refusal.to_string()))?,
        arguments.by.format,
        out,
    )
}

fn suppress(
    office: &Office<'_>,
    line: &str,
    kind: Kind,
    suppression: &Suppression,
    format: TextOrJson,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let scope = Scope { line, kind };
    let alerts = office.desk.suppress(scope, suppression)?;
    print(&format!("{scope} is {}", office.desk.in_words(suppression)), scope, Some(suppression), &alerts, format, out)
}

pub(super) fn unshelve(office: &Office<'_>, arguments: &ReleaseArguments, out: &mut dyn Write) -> Result<(), Failure> {
    release(office, arguments, Transition::Unshelve, out)
}

pub(super) fn in_service(
    office: &Office<'_>,
    arguments: &ReleaseArguments,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    release(office, arguments, Transition::PutInService, out)
}

fn release(
    office: &Office<'_>,
    arguments: &ReleaseArguments,
    how: Transition,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let person = office.person(&arguments.by)?;
    let (line, kind) = arguments.scope.resolve(office)?;
    let scope = Scope { line: &line, kind };
    let alerts = office.desk.release(scope, how, person)?;
    print(&format!("{scope} calls again"), scope, None, &alerts, arguments.by.format, out)
}

/// Lists what is kept quiet.
pub(super) fn list(office: &Office<'_>, format: TextOrJson, out: &mut dyn Write) -> Result<(), Failure> {
    let records = office.store.alert_book()?.suppressions;
    let suppressions: Vec<Suppression> = records.iter().map(alert_desk::suppression).collect();
    let mut quiet = Vec::new();
    for (record, suppression) in records.iter().zip(&suppressions) {
        let kind = alert_desk::kind(&record.kind)?;
        quiet.push(Quiet { line: &record.line, kind, suppression: Some(suppression), alerts: None });
    }
    if format == TextOrJson::Json {
        return Ok(writeln!(out, "{}", serde_json::to_string_pretty(&quiet)?)?);
    }
    if quiet.is_empty() {
        writeln!(out, "Every kind of alert calls on every line.")?;
    }
    for Quiet { line, kind, suppression, .. } in quiet {
        let how = suppression.map(|suppression| office.desk.in_words(suppression));
        writeln!(out, "{} is {}", Scope { line, kind }, how.unwrap_or_default())?;
    }
    Ok(())
}

fn print(
    said: &str,
    scope: Scope<'_>,
    suppression: Option<&Suppression>,
    alerts: &[Alert],
    format: TextOrJson,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    match format {
        TextOrJson::Text => {
            writeln!(out, "{said}")?;
            answer::print(alerts, format, out)
        }
        TextOrJson::Json => {
            let quiet = Quiet { line: scope.line, kind: scope.kind, suppression, alerts: Some(alerts) };
            Ok(writeln!(out, "{}", serde_json::to_string_pretty(&quiet)?)?)
        }
    }
}

/// The next time the clock on the wall shows it, or a time with its date.
fn shelf_end(text: &str, now: Timestamp, office: &Office<'_>) -> Result<Timestamp, Failure> {
    match NaiveTime::parse_from_str(text.trim(), "%H:%M") {
        Ok(time) => Ok(office.settings.plant.shifts.next(time, now)),
        Err(_) => moment(text, office.settings)
            .map_err(|_| Failure::usage(format!("--until {text:?} is no time; write 14:30 or 2026-11-02T14:30:00Z"))),
    }
}

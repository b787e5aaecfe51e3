//! `alerts acknowledge`, `alerts comment`.

use std::io::Write;

use alert::Alert;
use clap::Args;

use super::find::find;
use super::{ByArguments, Office, TextOrJson};
use crate::failure::Failure;

/// Which alerts are seen to.
#[derive(Debug, Args)]
pub(super) struct AcknowledgeArguments {
    /// The alerts: their ids, or the beginning or end of each.
    #[arg(required = true, value_name = "ID")]
    ids: Vec<String>,
    /// What there is to say to it.
    #[arg(long, value_name = "TEXT")]
    comment: Option<String>,
    #[command(flatten)]
    by: ByArguments,
}

/// What there is to say to which alert.
#[derive(Debug, Args)]
pub(super) struct CommentArguments {
    /// The alert: its id, or the beginning or end of it.
    id: String,
    /// What there is to say.
    text: String,
    #[command(flatten)]
    by: ByArguments,
}

pub(super) fn acknowledge(
    office: &Office<'_>,
    arguments: &AcknowledgeArguments,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let person = office.person(&arguments.by)?;
    let mut ids = Vec::new();
    for part in &arguments.ids {
        let id = find(&office.store, part)?.id;
        if !ids.contains(&id) {
            ids.push(id);
        }
    }
    let comment = arguments.comment.as_deref().map(something).transpose()?;
    let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
    let alerts = office.desk.acknowledge(&ids, person, comment)?;
    print(&alerts, arguments.by.format, out)
}

pub(super) fn comment(office: &Office<'_>, arguments: &CommentArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let person = office.person(&arguments.by)?;
    let text = something(&arguments.text)?;
    let id = find(&office.store, &arguments.id)?.id;
    print(&office.desk.comment(&id, person, text)?, arguments.by.format, out)
}

fn something(text: &str) -> Result<&str, Failure> {
    match text.trim() {
        "" => Err(Failure::usage("the comment is empty; write what there is to say, in quotes")),
        text => Ok(text),
    }
}

/// Alerts as they are after a change.
pub(super) fn print(alerts: &[Alert], format: TextOrJson, out: &mut dyn Write) -> Result<(), Failure> {
    match format {
        TextOrJson::Json => writeln!(out, "{}", serde_json::to_string_pretty(alerts)?)?,
        TextOrJson::Text => {
            for alert in alerts {
                writeln!(out, "{}  {}  {}  {}", alert.id, alert.line, alert.finding.name(), alert.state.name())?;
            }
        }
    }
    Ok(())
}

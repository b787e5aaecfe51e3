//! Which kind of alert on which line is meant.

use alert::Kind;
use clap::Args;

use super::Office;
use super::find::find;
use crate::alert_desk;
use crate::commands::learn::lines;
use crate::failure::Failure;

/// Which kind of alert on which line.
#[derive(Debug, Args)]
pub(super) struct ScopeArguments {
    /// An alert, by its id or the beginning or end of it: its line and kind are meant.
    #[arg(conflicts_with_all = ["line", "kind"])]
    id: Option<String>,
    /// The line, with --kind instead of an alert.
    #[arg(long, requires = "kind")]
    line: Option<String>,
    /// The kind of alert, with --line instead of an alert.
    #[arg(long, requires = "line", value_parser = kind)]
    kind: Option<Kind>,
}

impl ScopeArguments {
    /// The line's id and the kind.
    ///
    /// # Errors
    /// There is no such alert or line, or nothing is named.
    pub(super) fn resolve(&self, office: &Office<'_>) -> Result<(String, Kind), Failure> {
        match (&self.id, &self.line, self.kind) {
            (Some(id), ..) => {
                let alert = find(&office.store, id)?;
                let kind = alert_desk::kind(&alert.kind)?;
                Ok((alert.line, kind))
            }
            (None, Some(line), Some(kind)) => {
                lines(office.settings, Some(line))?;
                Ok((line.clone(), kind))
            }
            _ => Err(Failure::usage("nothing is named; write the id of an alert, or --line LINE --kind KIND")),
        }
    }
}

fn kind(text: &str) -> Result<Kind, String> {
    let names: Vec<&str> = Kind::ALL.into_iter().map(Kind::name).collect();
    let known = Kind::ALL.into_iter().find(|kind| kind.name() == text);
    known.ok_or_else(|| format!("{text:?} is no kind of alert; write one of {}", names.join(", ")))
}

//! `alerts show`: one alert and everything that was done about it.

use std::io::Write;

use alert::Alert;
use serde_json::json;
use store::AlertChange;

use super::find::find;
use super::{Office, TextOrJson, write_figures};
use crate::failure::Failure;
use crate::rate_changes;

/// Shows the alert whose id begins or ends like this.
pub(super) fn show(office: &Office<'_>, part: &str, format: TextOrJson, out: &mut dyn Write) -> Result<(), Failure> {
    let record = find(&office.store, part)?;
    let history = office.store.alert_history(&record.id)?;
    let alert: Alert = serde_json::from_str(&record.json)?;
    let changes = rate_changes::all(&office.store)?;
    let review = rate_changes::review_of(&alert, &changes).map(|(_, words)| words);
    match format {
        TextOrJson::Json => {
            let shown = json!({ "alert": alert, "history": history, "review": review });
            Ok(writeln!(out, "{}", serde_json::to_string_pretty(&shown)?)?)
        }
        TextOrJson::Text => text(office, &alert, &history, review.as_deref(), out),
    }
}

fn text(
    office: &Office<'_>,
    alert: &Alert,
    history: &[AlertChange],
    review: Option<&str>,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let calendar = &office.settings.plant.shifts;
    let product = alert.product.as_deref().unwrap_or("-");
    writeln!(out, "{}  {}  {product}  {} ({})", alert.id, alert.line, alert.finding.name(), alert.kind.name())?;
    writeln!(out, "       {}", alert.message)?;
    write_figures(alert, out)?;
    writeln!(out, "\n       it is {}; began {}", alert.state.name(), calendar.date_and_time(alert.began))?;
    if let Some(review) = review {
        writeln!(out, "       rate change: {review}")?;
    }
    if let Some(suppression) = &alert.answer.suppression {
        writeln!(out, "       {}", office.desk.in_words(suppression))?;
    }
    for AlertChange { time, who, what, state } in history {
        writeln!(out, "       {}  {who:<12} {what}  -> {state}", calendar.date_and_time(*time))?;
    }
    Ok(())
}

//! What a mail says: subject, text, and the same as HTML with a picture of the zones.

mod html;
mod picture;
mod text;

use reading::{Plant, Span, Timestamp};

use crate::channel::Notice;
use crate::words;

/// A mail, but for sender and receiver.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Letter {
    /// The same whenever the same notices are sent.
    pub id: String,
    /// What mails about the same alert have in common.
    pub thread: Option<String>,
    /// Line and finding, in plain words.
    pub subject: String,
    /// Everything, as text.
    pub text: String,
    /// Everything, as HTML that needs nothing from elsewhere.
    pub html: String,
    /// Whether a person must look now.
    pub urgent: bool,
}

/// What is told later than this after it was due is called late.
const LATE: Span = Span::minutes(5);

impl Letter {
    /// The mail about notices that go together: one alert in full, or several in a line each.
    #[must_use]
    pub fn of(notices: &[Notice], plant: &Plant, now: Timestamp) -> Self {
        let first = notices.first().map(|notice| notice.id.as_str()).unwrap_or_default();
        let (id, thread, subject) = match notices {
            [notice] => (notice.id.clone(), Some(notice.alert.id.clone()), words::subject(notice, plant)),
            _ => {
                let others = notices.len().saturating_sub(1);
                (format!("{first}-and-{others}"), None, format!("{}: {} alerts", plant.name, notices.len()))
            }
        };
        Self {
            id,
            thread,
            subject,
            text: text::of(notices, plant, now),
            html: html::of(notices, plant, now),
            urgent: notices.iter().any(Notice::is_urgent),
        }
    }
}

/// That a notice comes late, and since when it waited.
fn late(notice: &Notice, plant: &Plant, now: Timestamp) -> Option<String> {
    (now - notice.due > LATE)
        .then(|| format!("Told late: it could not be delivered since {}.", plant.shifts.date_and_time(notice.due)))
}

/// When it began and was raised, and what else there is to know it by.
fn particulars(notice: &Notice, plant: &Plant) -> String {
    let alert = &notice.alert;
    let calendar = &plant.shifts;
    let shift = calendar.at(alert.raised).map(|shift| format!(", shift {}", shift.name)).unwrap_or_default();
    let product = alert.product.as_ref().map(|product| format!("; product {product}")).unwrap_or_default();
    let normal = alert.normal.as_ref().map(|normal| format!("; held against {normal}")).unwrap_or_default();
    format!(
        "Began {}, raised {}{shift}{product}{normal}. Alert {}.",
        calendar.date_and_time(alert.began),
        calendar.wall_clock(alert.raised),
        alert.id
    )
}

/// Whose mail it is, and what it is not.
fn foot(plant: &Plant) -> String {
    format!("From ovenward at {}, which listens and advises and controls nothing.", plant.name)
}

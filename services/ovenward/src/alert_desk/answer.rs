//! What somebody has to say about alerts.

use alert::Alert;
use store::AlertUpdate;

use super::{AlertDesk, Person, refused, stored};
use crate::failure::Failure;

impl AlertDesk {
    /// Acknowledges alerts, all or none; gives them as they are then.
    ///
    /// # Errors
    /// One of them is acknowledged already or calls nobody, or the store cannot be used.
    pub(crate) fn acknowledge(
        &self,
        ids: &[&str],
        person: Person<'_>,
        comment: Option<&str>,
    ) -> Result<Vec<Alert>, Failure> {
        self.answer(ids, person, |alert| {
            alert.acknowledge(person.name, person.now).map_err(|why| refused(&alert.id, why))?;
            let Some(comment) = comment else { return Ok("acknowledged".into()) };
            alert.comment(person.name, person.now, comment);
            Ok(format!("acknowledged: {comment}"))
        })
    }

    /// Adds a comment to an alert, also to one that is over; gives the alert as it is then.
    ///
    /// # Errors
    /// The store cannot be used.
    pub(crate) fn comment(&self, id: &str, person: Person<'_>, text: &str) -> Result<Vec<Alert>, Failure> {
        self.answer(&[id], person, |alert| {
            alert.comment(person.name, person.now, text);
            Ok(format!("comment: {text}"))
        })
    }

    fn answer(
        &self,
        ids: &[&str],
        person: Person<'_>,
        answer: impl Fn(&mut Alert) -> Result<String, Failure>,
    ) -> Result<Vec<Alert>, Failure> {
        self.store.change_alerts(ids, |book| {
            let mut update = AlertUpdate::default();
            let mut answered = Vec::new();
            for id in ids {
                let Some(mut alert) = stored(book, id)? else { continue };
                let what = answer(&mut alert)?;
                self.note(&mut update, &alert, person, &what)?;
                answered.push(alert);
            }
            Ok((update, answered))
        })
    }
}

//! What people do about an alert, and what its end does: each a step from one [`AlertState`](crate::AlertState) to the next.

use reading::Timestamp;
use serde::{Deserialize, Serialize};

use crate::alert::Alert;
use crate::state::{Forbidden, Transition};
use crate::suppression::Suppression;

/// What people have done about an alert.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Answer {
    /// Who has acknowledged it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub acknowledged_by: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub acknowledged_at: Option<Timestamp>,
    /// Why it calls nobody, while it is shelved or out of service.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub suppression: Option<Suppression>,
    /// What people have to say about it, in the order in which they said it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub comments: Vec<Comment>,
}

/// What somebody has to say.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Comment {
    /// Who.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// What.
    pub text: String,
}

impl Alert {
    /// Whether the cause is still there.
    #[must_use]
    pub fn stands(&self) -> bool {
        self.ended.is_none()
    }

    /// Somebody answers.
    ///
    /// # Errors
    /// It is acknowledged already, or calls nobody.
    pub fn acknowledge(&mut self, by: &str, at: Timestamp) -> Result<(), Forbidden> {
        self.state = self.state.after(Transition::Acknowledge)?;
        self.answer.acknowledged_by = Some(by.into());
        self.answer.acknowledged_at = Some(at);
        Ok(())
    }

    /// Somebody has something to say, at any time of its life and after it.
    pub fn comment(&mut self, by: &str, at: Timestamp, text: &str) {
        self.answer.comments.push(Comment { by: by.into(), at, text: text.into() });
    }

    /// It calls nobody from now on.
    ///
    /// # Errors
    /// It is over; or it is out of service, and was to be shelved.
    pub fn suppress(&mut self, suppression: &Suppression) -> Result<(), Forbidden> {
        self.state = self.state.after(suppression.transition())?;
        self.answer.suppression = Some(suppression.clone());
        Ok(())
    }

    /// It calls again, and asks for a new answer.
    ///
    /// # Errors
    /// It is not kept quiet in this way.
    pub fn release(&mut self, how: Transition) -> Result<(), Forbidden> {
        self.state = self.state.after(how)?;
        self.answer = Answer { comments: std::mem::take(&mut self.answer.comments), ..Answer::default() };
        Ok(())
    }

    /// Its cause is gone. What is over stays as it is.
    pub fn end(&mut self, now: Timestamp) {
        if let Ok(state) = self.state.after(Transition::Return) {
            self.ended = Some(now);
            self.state = state;
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::state::AlertState;

    const NOW: Timestamp = Timestamp(1_800_000_000_000_000);

    fn alert() -> Alert {
        serde_json::from_value(serde_json::json!({
            "id": "01K", "site": "millbrook", "line": "tunnel-1", "kind": "zone3-limit", "finding": "zone3-limit",
            "priority": "high", "state": "unacknowledged", "product": "T800", "began": "2026-10-06T13:02:00Z",
            "raised": "2026-10-06T13:09:00Z", "ended": null, "speed": null, "zones": [], "confidence": null,
            "normal": null, "message": "Zone 3.", "advice": [], "caution": "Advice only."
        }))
        .unwrap()
    }

    #[test]
    fn an_alert_that_nobody_answered_is_written_as_detection_made_it() {
        let written = serde_json::to_value(alert()).unwrap();
        for of_people in ["acknowledged_by", "acknowledged_at", "suppression", "comments", "answer"] {
            assert_eq!(written.get(of_people), None, "{of_people}");
        }
    }

    #[test]
    fn an_answer_is_kept_with_person_and_time() {
        let mut alert = alert();
        alert.acknowledge("Ann", NOW).unwrap();
        alert.comment("Ben", NOW, "Damper 2 is stuck.");
        alert.acknowledge("Ben", Timestamp(0)).unwrap_err();
        alert.end(NOW);
        assert_eq!((alert.state, alert.ended), (AlertState::ReturnedAcknowledged, Some(NOW)));
        let read: Alert = serde_json::from_str(&serde_json::to_string(&alert).unwrap()).unwrap();
        assert_eq!(read, alert);
        assert_eq!(read.answer.acknowledged_by.as_deref(), Some("Ann"));
        assert_eq!(read.answer.acknowledged_at, Some(NOW));
        assert_eq!(read.answer.comments, [Comment { by: "Ben".into(), at: NOW, text: "Damper 2 is stuck.".into() }]);
    }

    #[test]
    fn what_comes_off_the_shelf_asks_for_a_new_answer_and_keeps_what_was_said() {
        let mut alert = alert();
        alert.acknowledge("Ann", NOW).unwrap();
        alert.comment("Ann", NOW, "Fitter comes at three.");
        alert.suppress(&Suppression::out_of_service("sensor is changed", "Ann", NOW).unwrap()).unwrap();
        assert_eq!(alert.state, AlertState::OutOfService);
        alert.release(Transition::Unshelve).unwrap_err();
        alert.release(Transition::PutInService).unwrap();
        assert_eq!(alert.state, AlertState::Unacknowledged);
        assert_eq!((alert.answer.acknowledged_by, alert.answer.suppression), (None, None));
        assert_eq!(alert.answer.comments.len(), 1);
    }

    #[test]
    fn an_alert_that_ends_while_it_calls_nobody_asks_nobody() {
        let mut alert = alert();
        alert.suppress(&Suppression::out_of_service("sensor is changed", "Ann", NOW).unwrap()).unwrap();
        alert.end(NOW);
        assert_eq!(alert.state, AlertState::ReturnedSuppressed);
        alert.end(Timestamp(0));
        assert_eq!(alert.ended, Some(NOW), "what is over stays as it is");
    }
}
